#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "src/case/case.h"

namespace howl {

/// Something that loads, unloads or stops some sources and leaves the others alone. It is done by
/// recording a point in both states at one engine speed; the take's load says in which it was.
struct LoadTest {
  std::string key;                  ///< of `--load KEY=VALUE`, and of a source's `reacts`
  std::string name;                 ///< what is loaded, as a person says it: "air conditioning"
  std::string title;                ///< "Steering against its stop"
  std::vector<std::string> base;    ///< values that mean the state without it; the first is advised
  std::vector<std::string> loaded;  ///< values that mean the state with it; the first is advised
  std::string how;                  ///< what to do, with its limits of time
  double minutes{};
  std::vector<std::string> cautions;
  bool vehicle_moves{};  ///< it takes a drive
  bool stands_loaded{};  ///< of one that does: in the loaded state the vehicle stands
};

/// All tests, in the order in which a workshop would think of them. Reactions are always those from
/// base to loaded.
std::span<const LoadTest> load_tests();

/// Of every recording on the road.
std::vector<std::string> road_cautions();

/// Whether the vehicle is driven for a take: it has a road speed, or, where none was noted, a gear
/// or a load test that is done on the road.
bool is_driven(const LoadState& load, std::optional<double> road_speed_kmh);

/// Of recording a take so loaded, at that road speed; none where the vehicle stands.
std::vector<std::string> recording_cautions(const LoadState& load,
                                            std::optional<double> road_speed_kmh);

/// The test of that key; null where there is none.
const LoadTest* find_load_test(std::string_view key);

/// What a press makes of a load that is `now` (empty: not said): with the load, without it, not
/// said.
std::string next_load_state(const LoadTest& test, const std::string& now);

/// Keys of all tests, for messages.
std::vector<std::string> load_test_keys();

/// Whether a value of a take's load means the loaded state (true), the base state (false), or
/// something that the test does not know (none). Case and spaces around do not count.
std::optional<bool> is_loaded(const LoadTest& test, std::string_view value);

/// The gear in which a take was driven; no test, but it keeps takes of different gears apart.
inline constexpr std::string_view gear_key = "gear";

/// What a load says that no test knows, a sentence each: such a load still keeps takes apart, but
/// nothing is made of it, and it may be a slip.
std::vector<std::string> doubts_of_load(const LoadState& load);

}  // namespace howl
