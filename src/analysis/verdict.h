#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace howl {

/// One fact that speaks for or against a suspect. Weight: 10 lg of the likelihood ratio against all
/// other suspects together, dB; above 0 speaks for it.
struct EvidenceItem {
  std::string id;  ///< "order", "pitch", "where", "load:steering", "fact:fluid-level" …
  std::string text;
  double weight_db{};
};

/// A source of the profile, or something that is not in it, with the probability that it makes the
/// howl in question.
struct Suspect {
  struct Cause {
    std::string id;
    double probability{};  ///< of this cause and this source together
  };
  std::string source;     ///< empty: something not in this profile
  std::string component;  ///< "something not in this profile" for the class of the rest
  double probability{};
  std::vector<EvidenceItem> evidence;  ///< strongest first, either way
  std::vector<Cause> causes;           ///< likeliest first
};
/// A weight below says little: a factor of 1.26. Our choice.
inline constexpr double kTellingDb = 1.0;
std::string suspect_name(const Suspect& suspect);  ///< its source, or its component without one

/// A test not done yet, and what it promises.
struct NextTest {
  std::string test;  ///< what to do, as one sentence
  std::string id;    ///< "load:steering", "speed:sweep", "point:transmission pan", "fact:…"
  double information_bits{};  ///< expected gain about which suspect it is
  double minutes{};
  std::string why;  ///< which suspects it tells apart
  std::vector<std::string> cautions;
};

/// A repair, in the order in which to try them: falling chance per cost (Heckerman, Breese and
/// Rommelse 1995, CACM 38(3), 49–57).
struct RepairOption {
  std::string repair;
  std::string component;
  double probability{};  ///< that it mends the howl
  double hours{};        ///< what it costs, parts turned into hours
  bool irreversible{};
  std::string warning;  ///< what to prove first; empty where nothing stands against it
};

/// Whether to go on testing.
enum class Inquiry { go_on, enough, not_by_sound };
std::string_view inquiry_name(Inquiry inquiry);  ///< "go on", "enough", "not by sound"

/// What the evidence comes to. Empty lists where nothing howls or the profile has no sources.
struct Verdict {
  std::optional<std::string> about;  ///< id of the family or tone that is judged
  std::string about_words;           ///< "order 10.00, speed-locked"
  std::vector<Suspect> suspects;     ///< likeliest first; sum to 1 with the class of the rest
  std::vector<NextTest> next_tests;  ///< most information per minute first
  std::vector<RepairOption> repairs;
  double expected_repair_hours{};  ///< of that order of repairs
  Inquiry state{Inquiry::go_on};
  std::string conclusion;                   ///< one or two sentences
  std::vector<std::string> contradictions;  ///< shown first
  std::vector<std::string> remarks;         ///< one for every workshop fact that was entered
  /// What the workshop found means by itself, as sentences; shown right under the conclusion.
  std::vector<std::string> whatever_howls;
};

}  // namespace howl
