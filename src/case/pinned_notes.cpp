#include "src/case/pinned_notes.h"

#include <fmt/format.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "src/errors.h"
#include "src/files/durable_file.h"
#include "src/files/folder_lock.h"
#include "src/files/read_file.h"

namespace howl {
namespace {

using Json = nlohmann::ordered_json;

constexpr std::string_view kFileName = "notes.json";
constexpr std::string_view kSchema = "howlpoint.notes/1";
constexpr std::size_t kLargestFile = 10'000'000;

[[noreturn]] void refuse(const std::filesystem::path& file, const std::string& problem) {
  throw Error(
      Fault::file, file.string(), problem,
      "mend it by hand as case_schema.md says, or remove it; the case is not touched by it");
}

Json json_of(const PinnedNote& note) {
  Json out{{"take", note.take}, {"time_s", note.time_s}};
  if (note.order)
    out["order"] = *note.order;
  else
    out["frequency_hz"] = note.frequency_hz.value_or(0);
  out["text"] = note.text;
  return out;
}

std::optional<double> number_in(const Json& entry, const char* key) {
  const auto found = entry.find(key);
  if (found == entry.end() || !found->is_number()) return std::nullopt;
  const double value = found->get<double>();
  return std::isfinite(value) && value >= 0 ? std::optional(value) : std::nullopt;
}

/// None where it is not one.
std::optional<PinnedNote> note_in(const Json& entry) {
  if (!entry.is_object()) return std::nullopt;
  PinnedNote note;
  const auto take = entry.find("take");
  const auto text = entry.find("text");
  const auto time = number_in(entry, "time_s");
  note.frequency_hz = number_in(entry, "frequency_hz");
  note.order = number_in(entry, "order");
  if (take == entry.end() || !take->is_string() || text == entry.end() || !text->is_string() ||
      !time || note.frequency_hz.has_value() == note.order.has_value())
    return std::nullopt;
  note.take = take->get<std::string>();
  note.time_s = *time;
  note.text = text->get<std::string>();
  return note.text.size() <= PinnedNote::longest ? std::optional(note) : std::nullopt;
}

std::vector<PinnedNote> notes_in(const Json& json, const std::filesystem::path& file) {
  if (!json.is_object() || json.value("schema", "") != kSchema)
    refuse(file, fmt::format("is not of the schema {}", kSchema));
  const auto list = json.find("notes");
  if (list == json.end() || !list->is_array()) refuse(file, "has no list 'notes'");
  std::vector<PinnedNote> notes;
  for (const Json& entry : *list) {
    const auto note = note_in(entry);
    if (!note) refuse(file, fmt::format("cannot be understood at note {}", notes.size() + 1));
    notes.push_back(*note);
  }
  return notes;
}

}  // namespace

std::vector<PinnedNote> load_pinned_notes(const std::filesystem::path& folder) {
  const std::filesystem::path file = folder / kFileName;
  std::error_code problem;
  if (!std::filesystem::exists(file, problem)) return {};
  try {
    return notes_in(Json::parse(read_text_file(file, kLargestFile)), file);
  } catch (const Json::exception&) {
    refuse(file, "is not JSON as it should be");
  }
}

void save_pinned_notes(const std::filesystem::path& folder, const std::vector<PinnedNote>& notes) {
  const FolderLock lock(folder, std::chrono::seconds(2));
  const std::filesystem::path file = folder / kFileName;
  if (notes.empty()) {
    std::error_code problem;
    std::filesystem::remove(file, problem);
    if (!problem) return;
  }
  Json out{{"schema", kSchema}, {"notes", Json::array()}};
  for (const PinnedNote& note : notes) out["notes"].push_back(json_of(note));
  replace_file(file, out.dump(2, ' ', false, Json::error_handler_t::replace) + "\n");
}

}  // namespace howl
