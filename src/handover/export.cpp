#include "src/handover/export.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <utility>

#include "src/errors.h"
#include "src/files/new_folder.h"
#include "src/handover/data_table.h"
#include "src/handover/tables.h"
#include "src/profile/case_profile.h"
#include "src/report/analysis_json.h"
#include "src/report/number_text.h"
#include "src/report/picture_file.h"
#include "src/report/picture_of.h"
#include "src/version.h"

namespace howl::handover {
namespace {

namespace fs = std::filesystem;

constexpr double print_pixels_per_unit = 4.0;  // 3200 pixels across: 300 dpi at 27 cm

struct NamedPicture {
  std::string_view name;
  PictureKind kind;
};
constexpr std::array<NamedPicture, 7> exported_pictures{
    {{"ranking", PictureKind::ranking},
     {"sketch", PictureKind::sketch},
     {"suspects", PictureKind::suspects},
     {"pitch", PictureKind::pitch},
     {"spectrum", PictureKind::spectrum},
     {"orders", PictureKind::orders},
     {"spectrogram", PictureKind::spectrogram}}};

DataHeader header_of(const Case& value, const Analysis& analysis, const AnalysisRequest& request) {
  DataHeader header{{"Program", std::string("howlpoint ") + version},
                    {"Case", value.title},
                    {"Case made", value.created},
                    {"Profile", value.profile},
                    {"Levels", analysis.level_reference},
                    {"Suspect band asked for", request.band ? band_text(*request.band) : "none"}};
  if (analysis.suspect_band)
    header.emplace_back("Suspect band", band_text(analysis.suspect_band->band));
  return header;
}

class Exporter {
 public:
  explicit Exporter(fs::path folder) : folder_(std::move(folder)) {}

  void write(const std::string& name, std::string_view bytes) {
    picture::write_whole(folder_ / name, bytes);
    names_.push_back(name);
  }
  std::vector<std::string> sorted_names() {
    std::ranges::sort(names_);
    return std::move(names_);
  }

 private:
  fs::path folder_;
  std::vector<std::string> names_;
};

/// None where the case has nothing to show of that kind.
std::optional<AnyPicture> picture_if_any(const fs::path& folder, const Case& value,
                                         const Profile& profile, const Analysis& analysis,
                                         PictureKind kind) {
  if (analysis.takes.empty()) return std::nullopt;
  std::optional<std::string> take;
  try {
    take = take_to_show(analysis, kind);
  } catch (const Error&) {
    return std::nullopt;  // no take in which the suspect works
  }
  return picture_of(folder, value, profile, analysis, kind, take);
}

void write_picture(Exporter& exporter, const std::string& name, const AnyPicture& picture,
                   const DataHeader& header) {
  const std::string path = "pictures/" + name;
  exporter.write(path + ".pdf", render(picture, PictureFormat::pdf));
  exporter.write(path + ".svg", render(picture, PictureFormat::svg));
  exporter.write(path + ".png", render(picture, PictureFormat::png, print_pixels_per_unit));
  exporter.write(path + ".csv", csv_of(data_of(picture, name), header));
}

}  // namespace

std::vector<std::string> export_case(const fs::path& folder, const Case& value,
                                     const Analysis& analysis, const AnalysisRequest& request,
                                     const fs::path& out, const Progress& progress) {
  NewFolder made(out);
  fs::create_directory(made.path() / "pictures");
  Exporter exporter(made.path());
  const DataHeader header = header_of(value, analysis, request);
  const std::vector<DataTable> tables = tables_of(value, analysis);
  for (const DataTable& table : tables) exporter.write(table.name + ".csv", csv_of(table, header));
  exporter.write("tables.json", json_of(tables, header));
  exporter.write("analysis.json", analysis_json(value, analysis));
  const Profile profile = case_profile(folder, value);
  for (std::size_t i = 0; i < exported_pictures.size(); ++i) {
    const NamedPicture& each = exported_pictures[i];
    progress(static_cast<double>(i) / exported_pictures.size(),
             fmt::format("drawing {}", each.name));
    if (const auto picture = picture_if_any(folder, value, profile, analysis, each.kind))
      write_picture(exporter, std::string(each.name), *picture, header);
  }
  std::vector<std::string> names = exporter.sorted_names();
  made.keep();
  return names;
}

}  // namespace howl::handover
