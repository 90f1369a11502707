#pragma once

#include <cstddef>
#include <filesystem>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "src/analysis/analyse.h"
#include "src/analysis/analysis.h"
#include "src/analysis/take_pairs.h"
#include "src/case/case.h"

namespace howl {

/// What became of a tone between two cases.
///
/// gone: heard before; afterwards neither found by the analysis (but as a line of the engine's own
/// firing) nor prominent, and both the level and the level relative to the rest of the spectrum
/// surely fell by 6 dB or more, at places where the probe kept contact (a loose probe hears less of
/// everything, and of high pitches least), among them where it was loudest before, to 3 dB, unless
/// the takes before are what is wrong there. 6 dB is half the amplitude, and about what 95 % of
/// differences between two settings of one probe stay under, whose s.d. is 2 dB each time (common
/// practice). appeared: the same with before and after exchanged, but for where it is loudest.
/// weaker, louder: relative to the rest surely, and by 3 dB or more both ways of counting.
/// unchanged: heard on both sides, by less than 3 dB and surely within 6 dB relative to the rest.
/// undetermined: none of these.
///
/// 'Surely' is 95 %. The error that hand and probe make is one for all tones of a take and is paid
/// once; the relative change, in which it cancels, is judged with its error divided by the number
/// of tones compared (Bonferroni), so that no more than one comparison in twenty holds a wrong word
/// about any of its tones.
enum class ToneChange { gone, weaker, unchanged, louder, appeared, undetermined };
std::string_view change_name(ToneChange change);  ///< "gone" … ; appeared reads "new"

/// 95 %; an end that the takes do not give is none.
struct ChangeRange {
  std::optional<double> low_db;
  std::optional<double> high_db;
};

/// A tone, or a band, at one place or over several.
struct MeasuredChange {
  std::optional<double> before_db;  ///< dB re full-scale sine; none: not heard
  std::optional<double> after_db;
  double before_below_db{};  ///< upper end of what it can be, with 95 %
  double after_below_db{};
  std::optional<double> change_db;
  ChangeRange ci95_db;
  std::optional<double> relative_change_db;  ///< to the rest of the spectrum
  ChangeRange relative_ci95_db;
};

/// Takes of one point at like speed and load, before and after.
struct ComparedPlace {
  std::string point;
  std::string condition;
  std::vector<std::string> takes_before;
  std::vector<std::string> takes_after;
  std::optional<double> rest_change_db;    ///< of the noise between the tones: median of bands
  std::optional<double> firing_change_db;  ///< of the engine's firing orders: median
  bool trusted{};                          ///< its levels may prove something
  bool steady{};                    ///< the probe kept contact: also that a tone is gone or new
  std::vector<std::string> doubts;  ///< why not, or what was left out
  /// How to record it again after, so that it does: "the probe held …"; empty where nothing is
  /// wrong with the takes after.
  std::string record_again;
};

struct ToneAtPlace {
  std::size_t place{};  ///< in Comparison::places
  MeasuredChange measured;
  std::optional<double> tone_to_noise_before_db;
  std::optional<double> tone_to_noise_after_db;
  double limit_db{};  ///< tone-to-noise ratio from which it is prominent there
  bool prominent_before{};
  bool prominent_after{};
};

/// That a new tone is a whole multiple of another one after (multiple_of). By chance one pair in
/// fifty is.
struct MultipleOf {
  int number{};               ///< 2 … 4, or a product of such
  std::string base_id_after;  ///< in the analysis of the case after
};

struct ComparedTone {
  std::optional<std::string> id_before;  ///< in the analysis of the case before
  std::optional<std::string> id_after;
  std::optional<double> order;
  Interval frequency_hz;
  Behaviour behaviour{Behaviour::undetermined};
  bool combustion{};
  std::string remark;
  bool found_before{};  ///< as more than a line of the engine's own firing
  bool found_after{};
  /// The engine's own order there, which was all that was found before of what is found after.
  std::optional<double> firing_order_before;
  /// Of a new howl: the tone of which it is a multiple.
  std::optional<MultipleOf> multiple;
  ToneChange change{ToneChange::undetermined};
  std::string why;                         ///< of an undetermined change
  std::optional<MeasuredChange> measured;  ///< over the trusted places; none: there is none
  bool prominent_before{};
  bool prominent_after{};
  std::optional<std::size_t> unsettled_at;  ///< the place for which alone it is not gone
  std::size_t places_heard{};   ///< trusted places where it was heard before (new: after)
  std::size_t places_proven{};  ///< of these, those that show the change by themselves
  std::vector<ToneAtPlace> at;
};

struct ComparedBand {
  AnalysisRequest::Band band;
  bool chosen_by_user{};
  ToneChange change{ToneChange::undetermined};  ///< never gone or new: noise is in it
  std::optional<MeasuredChange> measured;
};

/// Everything that table, JSON and pictures show. Lists are sorted, most important first.
struct Comparison {
  ToneChange howl{ToneChange::undetermined};  ///< of the complaint's tone
  std::string verdict;                        ///< in plain words
  std::vector<ComparedTone> tones;  ///< new howls first, then the complaint's, then others
  std::optional<ComparedBand> band;
  std::vector<ComparedPlace> places;
  std::vector<LoneTakes> only_before;
  std::vector<LoneTakes> only_after;
  std::vector<std::string> record_next;
  std::vector<std::string> warnings;
  std::string level_reference{"dB re full-scale sine"};
};

struct ComparisonRequest {
  AnalysisRequest analysis;
  PointMap renamed;
};

/// One case opened and analysed.
struct AnalysedCase {
  std::vector<TakeAudio> takes;
  Analysis analysis;
  std::set<std::string> changed;  ///< takes whose recording is not what was added
};

Comparison compare_analysed(const AnalysedCase& before, const AnalysedCase& after,
                            const ComparisonRequest& request, const Progress& progress);

/// A case with the analysis that was made of it.
struct CaseAtHand {
  const std::filesystem::path& folder;
  const Case& value;
  const Analysis& analysis;
};

/// Throws Error where a case or a recording cannot be used, or both folders are one.
Comparison compare_cases(const CaseAtHand& before, const CaseAtHand& after,
                         const ComparisonRequest& request, const Progress& progress);
/// The same from the cases' folders; they are analysed first.
Comparison compare_cases(const std::filesystem::path& folder_before,
                         const std::filesystem::path& folder_after,
                         const ComparisonRequest& request, const Progress& progress);

}  // namespace howl
