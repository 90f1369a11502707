#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "dsp/time_spans.h"
#include "src/analysis/take_audio.h"

namespace howl {

enum class QualityKind {
  clipped,
  over_full_scale,
  dropouts,
  contact_lost,
  contact_loose,
  knocks,
  hum,
  hum_or_engine,
  rumble,
  faint,
  coarse,
  offset,
  too_short,
  no_reference,
};
std::string_view quality_kind_name(QualityKind kind);

/// note: nothing of the result changes; doubt: part of the take is left out, or its levels are less
/// sure; spoilt: record again.
enum class Severity { note, doubt, spoilt };
std::string_view severity_name(Severity severity);

/// One fault of a take, once a kind.
struct QualityFinding {
  QualityKind kind{};
  TimeSpans spans;  ///< where; the whole take for a fault of all of it; never empty
  double share{};   ///< of the take's time; of its samples for clipping; 0 … 1
  std::string text;
  std::string remedy;
  Severity severity{};
};

/// "text; remedy", as a warning reads.
std::string warning_text(const QualityFinding& finding);
/// Those of doubt and worse: what a person is to read.
std::vector<std::string> warning_texts(const std::vector<QualityFinding>& findings);

/// Clipped by so much that lines which clipping makes can look like an engine at half its speed:
/// the sound then says nothing against a speed that was written down.
bool spoilt_by_clipping(const std::vector<QualityFinding>& findings);

struct QualityOfTake {
  std::vector<QualityFinding> findings;  ///< worst first
  TimeSpans left_out;                    ///< no level or spectrum should use these
  double clipped_share{};                ///< of the samples, where the take is clipped
  bool clipped_on_one_side{};
};

/// Judges a take by one pass over its samples and by its length and speed. Thresholds that are not
/// in the headers of dsp/ are our choice:
/// clipped: spoilt from 1 % of the samples on, where levels are off by more than a tenth of a dB;
/// hum: from 1 % of the power above 40 Hz (0.04 dB of level), doubt from 10 % (0.4 dB);
/// rumble: three tenths of the time;
/// faint: a peak under −60 dB, in reach of a sound card's own noise;
/// coarse: noise less than 6 dB above what rounding makes (4.8 dB is triangular dither alone);
/// offset: 2 % of full scale, or more than the sound and 0.2 %; doubt from 10 %;
/// too short: a hold under 3 s or 32 revolutions, where the blocks that are averaged have to be
/// shorter than they should be; a sweep that doubles its speed in under 3 s.
/// no reference: the reference channel holds the probe's own sound (is_reference_the_probe).
QualityOfTake judge_quality(const TakeAudio& take);

/// Judges a take and writes into it what every level and spectrum of it has to heed, where
/// its speed is not known among it. A reference channel that is none is taken from it.
std::vector<QualityFinding> heed_quality(TakeAudio& take);

}  // namespace howl
