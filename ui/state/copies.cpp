#include "ui/state/copies.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <variant>

namespace howl::desk {
namespace {

struct CellText {
  std::string operator()(std::monostate /*unknown*/) const { return {}; }
  std::string operator()(double value) const { return fmt::format("{}", value); }
  std::string operator()(bool value) const { return value ? "yes" : "no"; }
  std::string operator()(std::string value) const {
    std::ranges::replace_if(
        value, [](char c) { return c == '\t' || c == '\n' || c == '\r'; }, ' ');
    return value;
  }
};

}  // namespace

std::string_view table_of_step(Step step) {
  switch (step) {
    case Step::complaint:
      return "workshop_evidence";
    case Step::record:
      return "takes";
    case Step::listen:
    case Step::pitch:
      return "tones";
    case Step::what:
      return "suspects";
    case Step::proof:
      return "next_tests";
    case Step::report:
      return "repairs";
    case Step::points:
    case Step::where:
      break;
  }
  return "ranking";
}

std::optional<PictureKind> picture_of_step(const ViewState& view) {
  switch (view.step) {
    case Step::listen:
      return view.sound_plot == SoundPlot::orders ? PictureKind::orders : PictureKind::spectrogram;
    case Step::pitch:
      return PictureKind::pitch;
    case Step::points:
      return PictureKind::sketch;
    case Step::where:
      return PictureKind::ranking;
    case Step::what:
      return PictureKind::suspects;
    case Step::complaint:
    case Step::record:
    case Step::proof:
    case Step::report:
      break;
  }
  return std::nullopt;
}

std::string_view picture_word(PictureKind kind) {
  constexpr std::array<std::string_view, 7> words{"spectrogram", "orders", "pitch",   "ranking",
                                                  "spectrum",    "sketch", "suspects"};
  return words.at(static_cast<std::size_t>(kind));
}

std::string tabbed(const handover::DataTable& table) {
  std::string text;
  for (std::size_t c = 0; c < table.columns.size(); ++c) {
    const handover::DataColumn& column = table.columns[c];
    text +=
        (c == 0 ? "" : "\t") + column.name + (column.unit.empty() ? "" : " (" + column.unit + ")");
  }
  for (const auto& row : table.rows) {
    text += "\n";
    for (std::size_t c = 0; c < row.size(); ++c)
      text += (c == 0 ? "" : "\t") + std::visit(CellText{}, row[c]);
  }
  return text + "\n";
}

}  // namespace howl::desk
