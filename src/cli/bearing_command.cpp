#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <array>
#include <memory>
#include <nlohmann/json.hpp>
#include <numbers>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "dsp/bearing.h"
#include "dsp/units.h"
#include "src/cli/commands.h"
#include "src/cli/standard_streams.h"
#include "src/entry/typed_values.h"
#include "src/errors.h"
#include "src/report/number_text.h"
#include "src/report/text_columns.h"

namespace howl {
namespace {

constexpr double kLineDifferentialMm = 2.0;  // ISO 9981:2020, 5.4, PK profile
constexpr double kBearingSlip = 0.02;        // common practice: 1 to 2 %
constexpr double kBeltCreep = 0.02;          // a healthy belt: up to 2 %

using Text = std::optional<std::string>;

struct BearingOptions {
  std::string elements;
  std::string ball;
  std::string pitch;
  std::string angle{"0"};
  Text ratio;
  Text pulleys;
  Text rpm;
  bool json{};
};

BearingGeometry geometry_of(const BearingOptions& options) {
  const BearingGeometry bearing{
      count_of(options.elements, "--elements"), positive_of(options.ball, "--ball"),
      positive_of(options.pitch, "--pitch"),
      not_negative_of(options.angle, "--angle") * std::numbers::pi / 180.0};
  if (bearing.element_diameter >= bearing.pitch_diameter)
    throw Error(
        Fault::command, "--ball " + options.ball,
        "the balls are as large as their pitch circle, or larger",
        "--pitch is the diameter of the circle through the balls' centres, in the same unit");
  if (bearing.contact_angle >= 0.5 * std::numbers::pi)
    throw Error(Fault::command, "--angle " + options.angle, "a contact angle is below 90 degrees",
                "give degrees; 0 for a deep-groove ball bearing");
  return bearing;
}

/// Turns of the bearing's shaft per crank turn, without and with the most that a belt creeps.
struct ShaftRatio {
  double nominal{1.0};
  double least{1.0};
  std::string source{"none given: the shaft is the crankshaft"};
};

ShaftRatio ratio_of(const BearingOptions& options) {
  if (options.ratio && options.pulleys)
    throw Error(Fault::command, "shaft ratio", "given more than once",
                "give one of --ratio, --pulleys");
  if (options.ratio) {
    const double ratio = positive_of(*options.ratio, "--ratio");
    return {ratio, ratio, "given"};
  }
  if (options.pulleys) {
    const auto [crank, driven] = lengths_of(*options.pulleys, "--pulleys");
    const double ratio = pulley_ratio(crank, driven, kLineDifferentialMm);
    return {ratio, ratio * (1.0 - kBeltCreep),
            fmt::format("pulleys {} mm on the crank, {} mm driven", crank, driven)};
  }
  return {};
}

struct DefectRow {
  const char* key;
  const char* name;
  double order;
  Interval spread;
};

using DefectRows = std::array<DefectRow, 5>;

DefectRow row(const char* key, const char* name, double order, const Interval& spread,
              const ShaftRatio& ratio) {
  return {
      key, name, order * ratio.nominal, {spread.low * ratio.least, spread.high * ratio.nominal}};
}

DefectRows rows_of(const BearingGeometry& bearing, const ShaftRatio& ratio) {
  const DefectOrders orders = defect_orders(bearing);
  const DefectIntervals spread = defect_intervals(bearing, {.slip = kBearingSlip});
  return {row("outer_race", "flaw of the outer race (BPFO)", orders.outer_race, spread.outer_race,
              ratio),
          row("inner_race", "flaw of the inner race (BPFI)", orders.inner_race, spread.inner_race,
              ratio),
          row("element_flaw", "flaw of an element (2 x BSF)", orders.element_flaw,
              spread.element_flaw, ratio),
          row("element_spin", "spin of an element (BSF)", orders.element_spin, spread.element_spin,
              ratio),
          row("cage", "cage (FTF)", orders.cage, spread.cage, ratio)};
}

std::string table_of(const DefectRows& rows, const ShaftRatio& ratio,
                     const std::optional<Rpm>& rpm) {
  using Align = TextColumns::Align;
  std::vector<TextColumns::Column> columns{{.heading = "what strikes"},
                                           {.heading = "order", .align = Align::right},
                                           {.heading = "spread", .align = Align::right}};
  if (rpm) {
    columns.push_back({.heading = "Hz", .align = Align::right});
    columns.push_back({.heading = "spread", .align = Align::right});
  }
  TextColumns table(std::move(columns));
  for (const DefectRow& r : rows) {
    std::vector<std::string> cells{r.name, fixed_text(r.order, 3), span_text(r.spread, 2)};
    if (rpm) {
      const double hertz = rpm->value / 60.0;
      cells.push_back(fixed_text(r.order * hertz, 1));
      cells.push_back(span_text({r.spread.low * hertz, r.spread.high * hertz}, 1));
    }
    table.add(std::move(cells));
  }
  const std::string shaft =
      fmt::format("The shaft turns {:.4f} times a crank turn ({}).", ratio.nominal, ratio.source);
  const std::string spread = fmt::format(
      "Orders are per crank turn, outer race at rest. Spread: the elements slip by up to "
      "{:.0f} % either way{}.",
      100.0 * kBearingSlip,
      ratio.least < ratio.nominal
          ? fmt::format(", and the belt creeps by up to {:.0f} %", 100.0 * kBeltCreep)
          : "");
  const std::string use =
      "Look for blows at one of these orders with harmonics; for the inner race also lines one "
      "turn "
      "of the shaft to either side. One line alone names no bearing.";
  return wrapped(shaft, 0, 80) + "\n" + table.text() + "\n" + wrapped(spread, 0, 80) +
         wrapped(use, 0, 80);
}

std::string json_of(const DefectRows& rows, const ShaftRatio& ratio,
                    const std::optional<Rpm>& rpm) {
  using Json = nlohmann::ordered_json;
  const double hertz = rpm.value_or(Rpm()).value / 60.0;
  const auto if_known = [&](Json value) { return rpm ? std::move(value) : Json(nullptr); };
  Json defects = Json::array();
  for (const DefectRow& r : rows)
    defects.push_back({{"defect", r.key},
                       {"order", r.order},
                       {"order_spread", Json::array({r.spread.low, r.spread.high})},
                       {"frequency_hz", if_known(r.order * hertz)},
                       {"frequency_spread_hz",
                        if_known(Json::array({r.spread.low * hertz, r.spread.high * hertz}))}});
  const Json document{{"schema", "howlpoint.bearing/1"},
                      {"shaft_ratio", ratio.nominal},
                      {"rpm", if_known(60.0 * hertz)},
                      {"defects", std::move(defects)}};
  constexpr int indent = 2;
  return document.dump(indent) + "\n";
}

void print_defects(const BearingOptions& options) {
  const BearingGeometry bearing = geometry_of(options);
  const ShaftRatio ratio = ratio_of(options);
  std::optional<Rpm> rpm;
  if (options.rpm) rpm = rpm_of(*options.rpm, "--rpm");
  const DefectRows rows = rows_of(bearing, ratio);
  print_result(options.json ? json_of(rows, ratio, rpm) : table_of(rows, ratio, rpm));
}

}  // namespace

void add_bearing_command(CLI::App& program, Session& /*session*/) {
  const auto options = std::make_shared<BearingOptions>();
  CLI::App* command = program.add_subcommand(
      "bearing", "Say at which orders the flaws of a rolling bearing strike");
  command->footer("howlpoint bearing --elements 8 --ball 6.75 --pitch 28.5 --pulleys 160:55");
  command->add_option("--elements", options->elements, "Balls or rollers in one row (required)")
      ->type_name("N")
      ->required();
  command->add_option("--ball", options->ball, "Diameter of a ball or roller (required)")
      ->type_name("D")
      ->required();
  command
      ->add_option("--pitch", options->pitch,
                   "Diameter of the circle through their centres, in the\nsame unit (required)")
      ->type_name("D")
      ->required();
  command->add_option("--angle", options->angle, "Contact angle in degrees (default: 0)")
      ->type_name("DEG");
  command
      ->add_option("--ratio", options->ratio,
                   "Turns of the bearing's shaft per crank turn (default: 1)")
      ->type_name("R");
  command
      ->add_option("--pulleys", options->pulleys,
                   "The ratio from effective diameters in mm of the pulleys\nof a ribbed belt, for "
                   "example 160:55")
      ->type_name("CRANK:DRIVEN");
  command->add_option("--rpm", options->rpm, "Engine speed, for frequencies in Hz")->type_name("N");
  command->add_flag("--json", options->json, "Print everything as JSON, for other programs");
  command->callback([options] { print_defects(*options); });
}

}  // namespace howl
