#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <array>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "src/case/case.h"
#include "src/case/find_take.h"
#include "src/cli/band_options.h"
#include "src/cli/commands.h"
#include "src/cli/standard_streams.h"
#include "src/entry/names.h"
#include "src/errors.h"
#include "src/report/picture_of.h"

namespace howl {
namespace {

struct PictureOptions {
  std::string folder;
  std::string of;
  std::optional<std::string> take;
  std::string out;
  BandOptions band;
};

struct NamedKind {
  std::string_view name;
  PictureKind kind;
};
constexpr std::array<NamedKind, 7> kinds{{{"spectrogram", PictureKind::spectrogram},
                                          {"orders", PictureKind::orders},
                                          {"pitch", PictureKind::pitch},
                                          {"ranking", PictureKind::ranking},
                                          {"spectrum", PictureKind::spectrum},
                                          {"sketch", PictureKind::sketch},
                                          {"suspects", PictureKind::suspects}}};
constexpr std::array<std::string_view, 3> endings{".png", ".svg", ".pdf"};

PictureKind kind_of(const std::string& name) {
  std::vector<std::string> names;
  for (const NamedKind& known : kinds) {
    if (known.name == name) return known.kind;
    names.emplace_back(known.name);
  }
  throw Error(Fault::command, "--of " + name, "there is no such picture",
              did_you_mean(name, names) + "choose from " + joined(names, ", "));
}

/// Asked before the analysis, so that minutes of work are not lost to a spelling mistake.
void require_known_ending(const std::filesystem::path& out) {
  if (std::ranges::find(endings, out.extension().string()) != endings.end()) return;
  throw Error(Fault::command, "--out " + out.string(), "the ending names no known kind of file",
              "end the name in .png, .svg or .pdf");
}

void draw_as_asked(const PictureOptions& options, Session& session) {
  const PictureKind kind = kind_of(options.of);
  require_known_ending(options.out);
  const AnalysisRequest request = options.band.request();
  const Case value = load_case(options.folder);
  if (options.take) take_of_case(value, *options.take, "--take " + *options.take);
  draw_picture(options.folder, value, kind, options.take, request, options.out, session.progress());
  session.progress_line.clear();
  print_result(options.out + "\n");
}

}  // namespace

void add_picture_command(CLI::App& program, Session& session) {
  const auto options = std::make_shared<PictureOptions>();
  CLI::App* command = program.add_subcommand("picture", "Draw one picture of a case to a file");
  command->footer("howlpoint picture whine --of ranking --out ranking.png");
  command->add_option("CASE", options->folder, "Folder of the case")->required();
  command
      ->add_option("--of", options->of,
                   "spectrogram: frequency over time, with the speed below;\n"
                   "orders: cycles per revolution over time or speed;\n"
                   "pitch: pitch of every tone against engine speed;\n"
                   "ranking: level of every probe point in the suspect band;\n"
                   "sketch: the same on a sketch of the vehicle;\n"
                   "spectrum: level over frequency;\n"
                   "suspects: what may be at fault, and why (required)")
      ->type_name("KIND")
      ->required();
  command
      ->add_option("--take", options->take,
                   "Take to draw, for example t02 (default: the one that\nshows the howl best)")
      ->type_name("ID");
  command->add_option("--out", options->out, "File to write: .png, .svg or .pdf (required)")
      ->type_name("FILE")
      ->required();
  options->band.describe(*command);
  command->callback([options, &session] { draw_as_asked(*options, session); });
}

}  // namespace howl
