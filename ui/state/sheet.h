#pragma once

#include <cstddef>
#include <filesystem>
#include <functional>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "src/case/case.h"
#include "src/entry/typed_band.h"
#include "src/entry/typed_case.h"
#include "src/entry/typed_take.h"

namespace howl::desk {

/// What somebody fills in before it is stored; it lies over the view.
enum class SheetKind {
  open_case,
  new_case,
  about,
  add_takes,
  change_take,
  demo_cases,
  band,
  earlier_case
};

/// What is looked for on the disk.
enum class Wanted { nothing, case_folder, sounds, log };

struct PlaceEntry {
  enum class Kind { folder, case_folder, file };
  Kind kind{};
  std::string name;
  friend bool operator==(const PlaceEntry&, const PlaceEntry&) = default;
};

/// A folder that is looked into.
struct Place {
  std::filesystem::path folder;
  std::vector<PlaceEntry> entries;  ///< folders first, each by name
  std::string fault;                ///< why there is nothing to be seen
  std::size_t left_out{};           ///< more than can be shown
};
inline constexpr std::size_t kMostEntries = 2000;

/// Folders, and the files that are wanted by their ending; what is hidden is left out.
Place read_place(const std::filesystem::path& folder, Wanted wanted);

/// Where the speed of a take comes from, in the order in which a sheet offers it.
enum class SpeedEntry { rpm, sound, log, tacho, ramp, off };
inline constexpr std::size_t kSpeedEntries = 6;
std::string_view speed_entry_key(SpeedEntry entry);  ///< "rpm", "tacho", as a field holds it

/// By name: "title", "profile", "folder", "path" of a case; "point", "new-point", "speed", "rpm",
/// "near", "log", "tacho", "pulses", "ramp", "load.ac" …, "background", "road-speed", "channel",
/// "reference", "note" of a take; "unit" (hz, orders), "low", "high" of a band; the keys of
/// about_fields.
using Fields = std::map<std::string, std::string, std::less<>>;
std::string field(const Fields& fields, std::string_view name);

struct Sheet {
  SheetKind kind{};
  Fields typed;
  std::string take;                           ///< to be changed
  std::vector<std::filesystem::path> sounds;  ///< to be added, the first of them now
  std::size_t added{};                        ///< of them so far
  Wanted wanted{};
  Place place;
  std::string pointed;                        ///< the place's entry that keys are at, by name
  std::vector<std::filesystem::path> chosen;  ///< of the sounds that are looked for
  std::string fault;                          ///< why it could not be stored
  std::string remedy;
  bool storing{};
};

bool is_log_file(const std::filesystem::path& file);

std::filesystem::path home_or_root();
/// A path as people type it: "~" is home, and what is not absolute lies in `beside`.
std::filesystem::path typed_path(std::string_view typed, const std::filesystem::path& beside);
/// Where the case that is begun would lie: what is typed, else in `beside` under its title.
std::filesystem::path new_case_folder(const Fields& fields, const std::filesystem::path& beside);
TypedCase typed_case(const Fields& fields, const std::filesystem::path& beside);

TypedTake typed_take(const Fields& fields);
Fields fields_of(const Take& take);
/// The point whose name stands in the name of a recording; empty where there is none. It is
/// offered, never taken by itself.
std::string suggested_point(const std::filesystem::path& sound,
                            const std::vector<ProbePoint>& points);
/// Of the next take: what often stays from take to take, which the point does not.
Fields fields_for_next(Fields fields);

/// A message in the window's words: the names of fields and buttons for options and commands.
std::string as_in_sheet(std::string text);

TypedBand typed_band(const Fields& fields);
Fields fields_of(const AnalysisRequest::Band& band);

Fields about_fields_of(const Case& value);
Case with_about(Case value, const Fields& fields);

}  // namespace howl::desk
