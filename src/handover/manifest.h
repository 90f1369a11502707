#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "src/analysis/analysis.h"
#include "src/case/case.h"

namespace howl::handover {

/// A file of a case as it was when the manifest was made.
struct ManifestFile {
  std::string path;  ///< inside the case folder, with '/'
  std::uintmax_t bytes{};
  std::string sha256;
  std::string take;  ///< whose recording or log it is; else empty
};

struct ManifestCase {
  std::string title;
  std::string created;
  std::vector<ManifestFile> files;  ///< case.json, profile.toml, recordings and logs of the takes
};

/// What a report, or a packed case, rests on: every file with its SHA-256.
struct Manifest {
  std::string program;
  std::string workshop_facts_sha256;
  std::optional<AnalysisRequest::Band> band;  ///< that was asked for
  std::vector<ManifestCase> cases;            ///< the case; then those of later
};

/// Reads and hashes every file. Throws Error where one is missing or cannot be read.
ManifestCase manifest_case(const std::filesystem::path& folder, const Case& value);

/// JSON, schema "howlpoint.manifest/1":
/// { "schema", "program", "workshop_facts_sha256", "band": { "unit": "hz"|"order", "low", "high" }
///   or null, "cases": [ { "title", "created", "files": [ { "path", "bytes", "sha256", "take" } ] }
///   ] }
/// Fields may be added, never renamed. One line, ASCII, without "--" and "<", so that a PDF comment
/// and HTML can hold it as it is.
std::string manifest_json(const Manifest& manifest);
/// Throws Error (file fault); `where` names the file in messages.
Manifest manifest_of_json(std::string_view text, const std::string& where);

/// `pdf` with the manifest in it, as a comment before its last cross-reference; it stays valid.
std::string pdf_with_manifest(std::string pdf, std::string_view manifest);
/// What HTML holds of it: an element that shows nothing.
std::string manifest_element(std::string_view manifest);
/// The manifest inside a report's bytes, PDF or HTML; none where there is none.
std::optional<std::string> manifest_inside(std::string_view report);

}  // namespace howl::handover
