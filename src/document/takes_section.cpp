#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <string>
#include <variant>
#include <vector>

#include "src/document/figures.h"
#include "src/document/sections.h"
#include "src/report/comparison_words.h"
#include "src/report/number_text.h"
#include "src/report/result_words.h"
#include "src/report/warning_words.h"

namespace howl::document {
namespace {

std::string difference_text(const SoundSpeed& sound) {
  if (!sound.disagreement_percent) return "-";
  return signed_text(*sound.disagreement_percent, 1);
}

std::string sound_text(const SoundSpeed& sound) {
  if (!sound.rpm) return "not settled";
  if (!sound.rpm_ci95) return fixed_text(sound.rpm, 0);
  return fmt::format("{} ({})", fixed_text(sound.rpm, 0), span_text(*sound.rpm_ci95, 0));
}

Table speeds_table(const Analysis& analysis) {
  Table table;
  table.caption = "Speed and load of each take";
  table.columns = {{"Take"},
                   {"Probe point"},
                   {"Speed (rpm)", Align::right},
                   {"From"},
                   {"By the sound (rpm)", Align::right},
                   {"Sound differs by (%)", Align::right},
                   {"Length (s)", Align::right},
                   {"Load"}};
  for (const TakeResult& take : analysis.takes)
    table.rows.push_back(
        {take.id, take.point, take.engine_off ? "0" : span_text({take.rpm_min, take.rpm_max}, 0),
         take.speed_source, take.engine_off ? "-" : sound_text(take.sound_speed),
         difference_text(take.sound_speed), fixed_text(take.seconds, 1), load_text(take)});
  table.note =
      "By the sound: what all half orders of the engine vote for, with its 95 % interval, whatever "
      "was written down. A difference of more than 1.5 % is warned of.";
  return table;
}

Table recordings_table(const Case& value) {
  Table table;
  table.caption = "Recordings";
  table.columns = {
      {"Take"}, {"Added from"}, {"Added (UTC)"}, {"Format"}, {"Samples", Align::right}};
  for (const Take& take : value.takes) {
    std::string format =
        fmt::format("{:g} Hz, channel {} of {}", take.sample_rate, take.channel, take.channels);
    if (take.reference_channel) format += fmt::format(", reference {}", *take.reference_channel);
    table.rows.push_back({take.id, take.original_name.empty() ? "-" : take.original_name,
                          take.added.empty() ? "-" : take.added, format,
                          std::to_string(take.frames)});
  }
  return table;
}

Table hashes_table(const Case& value) {
  Table table;
  table.caption = "Files, as they were added";
  table.columns = {{"Take"}, {"File"}, {.heading = "SHA-256", .code = true}};
  for (const Take& take : value.takes) {
    table.rows.push_back({take.id, take.recording, take.sha256});
    if (const auto* log = std::get_if<LoggedSpeed>(&take.speed))
      table.rows.push_back({take.id, log->log, log->sha256});
  }
  return table;
}

std::vector<std::string> notes_of_takes(const Case& value) {
  std::vector<std::string> notes;
  for (const Take& take : value.takes) {
    if (!take.note.empty()) notes.push_back(take.id + ": " + take.note);
    for (const Overrun& overrun : take.overruns)
      notes.push_back(fmt::format("{}: sound was lost while recording, at {} s", take.id,
                                  fixed_text(overrun.at.value, 2)));
  }
  return notes;
}

std::vector<std::string> reference_notes(const Analysis& analysis) {
  std::vector<std::string> notes;
  for (const TakeResult& take : analysis.takes) {
    if (!take.reference) continue;
    notes.push_back(fmt::format("{}: reference microphone {} dB, correction {} dB, coherence {}",
                                take.id, fixed_text(take.reference->level_db, 1),
                                fixed_text(take.reference->correction_db, 1),
                                fixed_text(take.reference->coherence, 2)));
  }
  return notes;
}

void add_list(Section& section, const char* heading, std::vector<std::string> items,
              Emphasis emphasis) {
  if (items.empty()) return;
  section.blocks.emplace_back(Heading{heading});
  section.blocks.emplace_back(Bullets{std::move(items), emphasis});
}

}  // namespace

Section takes_section(const Material& material) {
  Section section{.id = "takes", .title = "Takes, their speed and their files", .blocks = {}};
  if (material.value.takes.empty()) {
    section.blocks.emplace_back(Paragraph{"The case has no takes."});
    return section;
  }
  section.blocks.emplace_back(speeds_table(material.analysis));
  std::vector<std::string> warnings = warnings_of_case(material.analysis);
  std::ranges::move(warnings_of_takes(material.analysis), std::back_inserter(warnings));
  add_list(section, "Warnings", std::move(warnings), Emphasis::warning);
  add_list(section, "Notes", notes_of_takes(material.value), Emphasis::plain);
  add_list(section, "Reference microphone", reference_notes(material.analysis), Emphasis::plain);
  section.blocks.emplace_back(recordings_table(material.value));
  section.blocks.emplace_back(hashes_table(material.value));
  return section;
}

}  // namespace howl::document
