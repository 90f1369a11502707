#include "src/handover/manifest.h"

#include <fmt/format.h>

#include <utility>
#include <variant>

#include "src/case/case_folder.h"
#include "src/case/take_rules.h"
#include "src/errors.h"
#include "src/files/sha256.h"
#include "src/report/json_values.h"

namespace howl::handover {
namespace {

namespace fs = std::filesystem;
constexpr std::string_view manifest_schema = "howlpoint.manifest/1";
constexpr std::string_view pdf_mark = "\n%howlpoint-manifest ";
constexpr std::string_view html_begin = "<template id=\"howlpoint-manifest\">";
constexpr std::string_view html_end = "</template>";

ManifestFile file_now(const fs::path& folder, const std::string& path, const std::string& take) {
  const fs::path file = folder / path;
  std::error_code failed;
  const std::uintmax_t bytes = fs::file_size(file, failed);
  std::string sha256 = sha256_of_file(file);  // says best what is wrong with it
  return {path, failed ? 0 : bytes, std::move(sha256), take};
}

Json json_of(const ManifestFile& file) {
  return {{"path", file.path},
          {"bytes", file.bytes},
          {"sha256", file.sha256},
          {"take", text_or_null(file.take)}};
}

Json json_of_case_files(const ManifestCase& value) {
  return {{"title", value.title},
          {"created", value.created},
          {"files", list_of(value.files, [](const ManifestFile& file) { return json_of(file); })}};
}

Json json_of(const std::optional<AnalysisRequest::Band>& band) {
  if (!band) return nullptr;
  const bool hertz = band->unit == AnalysisRequest::Band::Unit::hertz;
  return {{"unit", hertz ? "hz" : "order"}, {"low", band->range.low}, {"high", band->range.high}};
}

/// JSON's own way to write what would mean something in HTML or end a comment. None of these
/// characters stands outside strings, where that way of writing holds.
std::string without_marks(std::string_view json) {
  std::string out;
  for (std::size_t i = 0; i < json.size(); ++i) {
    const char c = json[i];
    const bool second_hyphen = c == '-' && i > 0 && json[i - 1] == '-';
    if (c == '<' || c == '>' || c == '&' || c == '\'' || second_hyphen)
      out += fmt::format("\\u{:04x}", static_cast<unsigned>(c));
    else
      out += c;
  }
  return out;
}

std::optional<AnalysisRequest::Band> band_in(const Json& json) {
  if (json.is_null()) return std::nullopt;
  AnalysisRequest::Band band;
  band.unit = json.at("unit").get<std::string>() == "hz" ? AnalysisRequest::Band::Unit::hertz
                                                         : AnalysisRequest::Band::Unit::order;
  band.range = {json.at("low").get<double>(), json.at("high").get<double>()};
  return band;
}

ManifestFile file_in(const Json& json, const std::string& where) {
  ManifestFile file{json.at("path").get<std::string>(),
                    json.at("bytes").get<std::uintmax_t>(),
                    json.at("sha256").get<std::string>(),
                    {}};
  if (const Json& take = json.at("take"); !take.is_null()) file.take = take.get<std::string>();
  if (!leads_inside(file.path))
    throw Error(Fault::file, where, "its manifest names a file outside of the case",
                "do not trust it; make the report anew");
  return file;
}

ManifestCase case_in(const Json& json, const std::string& where) {
  ManifestCase value{
      json.at("title").get<std::string>(), json.at("created").get<std::string>(), {}};
  for (const Json& file : json.at("files")) value.files.push_back(file_in(file, where));
  return value;
}

}  // namespace

ManifestCase manifest_case(const fs::path& folder, const Case& value) {
  ManifestCase manifest{value.title, value.created, {}};
  const auto add = [&](std::string_view path, const std::string& take) {
    manifest.files.push_back(file_now(folder, std::string(path), take));
  };
  add(case_file_name, {});
  if (value.profile_sha256) add(profile_file_name, {});
  for (const Take& take : value.takes) {
    add(take.recording, take.id);
    if (const auto* log = std::get_if<LoggedSpeed>(&take.speed)) add(log->log, take.id);
  }
  return manifest;
}

std::string manifest_json(const Manifest& manifest) {
  const Json whole{{"schema", manifest_schema},
                   {"program", manifest.program},
                   {"workshop_facts_sha256", manifest.workshop_facts_sha256},
                   {"band", json_of(manifest.band)},
                   {"cases", list_of(manifest.cases, json_of_case_files)}};
  return without_marks(whole.dump(-1, ' ', true, Json::error_handler_t::replace));
}

Manifest manifest_of_json(std::string_view text, const std::string& where) {
  try {
    const Json whole = Json::parse(text);
    if (whole.at("schema").get<std::string>() != manifest_schema)
      throw Error(Fault::file, where, "its manifest is of another kind",
                  "update this program, or make the report anew");
    Manifest manifest{whole.at("program").get<std::string>(),
                      whole.at("workshop_facts_sha256").get<std::string>(),
                      band_in(whole.at("band")),
                      {}};
    for (const Json& value : whole.at("cases")) manifest.cases.push_back(case_in(value, where));
    return manifest;
  } catch (const Json::exception& problem) {
    throw Error(Fault::file, where, fmt::format("its manifest is damaged ({})", problem.what()),
                "take another copy of it, or make the report anew");
  }
}

std::string pdf_with_manifest(std::string pdf, std::string_view manifest) {
  const std::size_t before = pdf.rfind("\nstartxref");
  if (before == std::string::npos || manifest.empty()) return pdf;
  pdf.insert(before, std::string(pdf_mark).append(manifest));
  return pdf;
}

std::string manifest_element(std::string_view manifest) {
  if (manifest.empty()) return {};
  return std::string(html_begin).append(manifest).append(html_end);
}

std::optional<std::string> manifest_inside(std::string_view report) {
  if (report.starts_with("%PDF")) {
    const std::size_t mark = report.rfind(pdf_mark);
    if (mark == std::string_view::npos) return std::nullopt;
    const std::size_t begin = mark + pdf_mark.size();
    return std::string(report.substr(begin, report.find('\n', begin) - begin));
  }
  const std::size_t mark = report.find(html_begin);
  if (mark == std::string_view::npos) return std::nullopt;
  const std::size_t begin = mark + html_begin.size();
  const std::size_t end = report.find(html_end, begin);
  if (end == std::string_view::npos) return std::nullopt;
  return std::string(report.substr(begin, end - begin));
}

}  // namespace howl::handover
