#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "src/analysis/isolate.h"
#include "src/audio/sound_writer.h"
#include "src/case/case.h"
#include "src/case/find_take.h"
#include "src/cli/commands.h"
#include "src/cli/standard_streams.h"
#include "src/entry/names.h"
#include "src/entry/typed_values.h"
#include "src/errors.h"
#include "src/files/part_file.h"
#include "src/report/envelope_csv.h"
#include "src/report/text_columns.h"

namespace howl {
namespace {

using Text = std::optional<std::string>;

/// As typed; only what was given is set.
struct IsolateOptions {
  std::string folder;
  std::string take;
  Text orders;
  Text hertz;
  bool without{};
  Text width;
  Text poles;
  std::string out;
  Text envelope;
};

[[noreturn]] void refuse(std::string where, std::string problem, std::string remedy) {
  throw Error(Fault::command, std::move(where), std::move(problem), std::move(remedy));
}

/// Numbers above 0 with commas between, none twice.
std::vector<double> numbers_of(std::string_view text, std::string_view option) {
  std::vector<double> numbers;
  for (std::size_t start = 0; start <= text.size();) {
    const std::size_t comma = std::min(text.find(',', start), text.size());
    const double number = positive_of(text.substr(start, comma - start), option);
    if (std::ranges::find(numbers, number) != numbers.end())
      refuse(fmt::format("{} {}", option, text), fmt::format("{:g} was given twice", number),
             "give every number once");
    numbers.push_back(number);
    start = comma + 1;
  }
  return numbers;
}

FilterWidth width_of(const std::string& text) {
  const auto number_before = [&](std::string_view unit) -> std::optional<double> {
    if (!text.ends_with(unit)) return std::nullopt;
    return positive_of(std::string_view(text).substr(0, text.size() - unit.size()), "--width");
  };
  if (const auto hertz = number_before("Hz")) return {Hertz(*hertz), 0.0};
  if (const auto percent = number_before("%")) return {Hertz(0.0), *percent / 100.0};
  refuse("--width " + text, "a width has a unit", "write for example 2Hz or 5%");
}

int poles_of(const std::string& text) {
  if (text == "1" || text == "2" || text == "3") return text.front() - '0';
  refuse("--poles " + text, "a filter has 1, 2 or 3 poles", "leave it out, or write 1, 2 or 3");
}

IsolateRequest request_of(const IsolateOptions& options) {
  if (options.orders.has_value() == options.hertz.has_value())
    refuse("--orders and --hertz", options.orders ? "both were given" : "neither was given",
           "say what to isolate by one of them");
  IsolateRequest request;
  if (options.orders)
    for (const double order : numbers_of(*options.orders, "--orders"))
      request.orders.emplace_back(order);
  if (options.hertz)
    for (const double hertz : numbers_of(*options.hertz, "--hertz"))
      request.pitches.emplace_back(hertz);
  if (options.width) request.width = width_of(*options.width);
  if (options.poles) request.poles = poles_of(*options.poles);
  return request;
}

void require_ending(const std::string& option, const std::filesystem::path& file,
                    const std::string& ending) {
  if (file.extension() != ending)
    refuse(option + " " + file.string(), "the ending does not fit what is written",
           "end the name in " + ending);
}

/// A recording or log of the case is evidence; nothing may take its place.
void require_not_of_case(const IsolateOptions& options, const Case& value,
                         const std::filesystem::path& file) {
  const auto is_this = [&](const std::string& inside) {
    std::error_code ignored;
    return std::filesystem::equivalent(options.folder + "/" + inside, file, ignored);
  };
  for (const Take& take : value.takes) {
    const auto* log = std::get_if<LoggedSpeed>(&take.speed);
    if (is_this(take.recording) || (log != nullptr && is_this(log->log)))
      refuse(file.string(), "belongs to take " + take.id + " of the case",
             "choose another name for the result");
  }
}

void require_fits(const TakeIsolation& isolation) {
  if (isolation.samples() > most_samples(SoundFormat::wav_float))
    refuse("--out", "the take is longer than a WAV file can hold (4 GB)",
           "isolate from a shorter take");
}

/// What is to be heard: the first tone alone, or the take without all of them.
std::vector<float> audible_part(const IsolatedPiece& piece, bool without) {
  if (!without) return piece.found.tones.front().waveform;
  std::vector<float> rest(piece.take.begin(), piece.take.end());
  for (const FilteredTone& tone : piece.found.tones)
    for (std::size_t i = 0; i < rest.size(); ++i) rest[i] -= tone.waveform[i];
  return rest;
}

void write_files(const IsolateOptions& options, const Take& take, const TakeIsolation& isolation,
                 Session& session) {
  PartFile sound_file(options.out);
  SoundWriter sound(sound_file.path(), SoundFormat::wav_float, isolation.sample_rate(), 1);
  std::optional<PartFile> csv_file;
  std::optional<EnvelopeCsv> csv;
  if (options.envelope) csv.emplace(csv_file.emplace(*options.envelope).path(), take, isolation);
  isolation.run(
      [&](const IsolatedPiece& piece) {
        sound.write(audible_part(piece, options.without));
        if (csv) csv->add(piece.found);
      },
      session.progress());
  sound.close();
  if (csv) csv->close();
  sound_file.keep();
  if (csv_file) csv_file->keep();
}

void isolate(const IsolateOptions& options, Session& session) {
  const IsolateRequest request = request_of(options);
  require_ending("--out", options.out, ".wav");
  if (options.envelope) require_ending("--envelope", *options.envelope, ".csv");
  const Case value = load_case(options.folder);
  require_not_of_case(options, value, options.out);
  if (options.envelope) require_not_of_case(options, value, *options.envelope);
  const Take& take = take_of_case(value, options.take, "--take " + options.take);
  const TakeIsolation isolation(options.folder, take, value.cylinders, request);
  require_fits(isolation);
  write_files(options, take, isolation, session);
  session.progress_line.clear();
  print_result(options.out + "\n" + (options.envelope ? *options.envelope + "\n" : ""));
  if (session.quiet) return;
  for (const std::string& warning : isolation.warnings())
    print_message("warning: " + take.id + ": " + printable(warning));
}

void describe_tones(CLI::App& command, IsolateOptions& options) {
  const auto tones = "What to isolate (exactly one)";
  command
      .add_option("--orders", options.orders,
                  "Orders that follow the engine: 10 or 10,9.5. The first\n"
                  "is written; the others are kept out of it")
      ->type_name("ORDER[,...]")
      ->group(tones);
  command.add_option("--hertz", options.hertz, "A tone of fixed pitch, in Hz; more likewise: 480")
      ->type_name("F[,...]")
      ->group(tones);
}

void describe_filter(CLI::App& command, IsolateOptions& options) {
  command
      .add_option("--width", options.width,
                  "Width of the filter: 2Hz, or 5% of the frequency. Narrow\n"
                  "keeps neighbours out; wide follows quick changes and a\n"
                  "speed that is not exact (default: 4 times the error of\n"
                  "the speed, so 4% for an entered ramp; at least 2% and 2Hz)")
      ->type_name("WIDTH");
  command
      .add_option("--poles", options.poles,
                  "1, 2 or 3: how steeply the filter cuts; steeper smears\n"
                  "sudden changes over longer (default 2)")
      ->type_name("N");
}

}  // namespace

void add_isolate_command(CLI::App& program, Session& session) {
  const auto options = std::make_shared<IsolateOptions>();
  CLI::App* command = program.add_subcommand(
      "isolate", "Write one order of a take as sound, or the take without it, to listen to");
  command->footer(
      "howlpoint isolate whine --take t04 --orders 10 --out order10.wav\n"
      "howlpoint isolate whine --take t04 --orders 10,9.5 --without --out rest.wav");
  command->add_option("CASE", options->folder, "Folder of the case")->required();
  command->add_option("--take", options->take, "Take, for example t02 (required)")
      ->type_name("ID")
      ->required();
  describe_tones(*command, *options);
  command->add_flag("--without", options->without,
                    "Write the take with all of these tones removed");
  describe_filter(*command, *options);
  command->add_option("--out", options->out, "Sound file to write: .wav, 32-bit float (required)")
      ->type_name("FILE")
      ->required();
  command
      ->add_option("--envelope", options->envelope,
                   "Also write frequency, level and phase over time: .csv")
      ->type_name("FILE");
  command->callback([options, &session] { isolate(*options, session); });
}

}  // namespace howl
