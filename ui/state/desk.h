#pragma once

#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "src/case/case.h"
#include "src/case/pinned_notes.h"
#include "src/errors.h"
#include "src/profile/profile.h"
#include "src/reasoning/workshop_facts.h"
#include "src/record/sound_system.h"
#include "src/report/pictures.h"
#include "ui/jobs/jobs.h"
#include "ui/pictures/sound_store.h"
#include "ui/state/answer.h"
#include "ui/state/before_after.h"
#include "ui/state/hand_over.h"
#include "ui/state/intentions.h"
#include "ui/state/lesson.h"
#include "ui/state/listening.h"
#include "ui/state/quiz.h"
#include "ui/state/recording.h"
#include "ui/state/settings.h"
#include "ui/state/sheet.h"
#include "ui/state/view_state.h"

namespace howl::desk {

/// A case that lies on the desk.
struct OpenedCase {
  std::filesystem::path folder;
  Case value;
  Profile profile;
  SketchPicture plan;
  std::vector<PossibleSource> sources;  ///< of the profile
  std::optional<DemoTruth> truth;       ///< of a demo case
  std::vector<WorkshopFact> facts;      ///< that can be entered
  std::vector<PinnedNote> pins;
  std::vector<std::vector<PinnedNote>> pins_before;  ///< for undo, the last change last
  std::optional<Error> pins_problem;                 ///< why those that are there cannot be read
  std::optional<Error> truth_problem;                ///< why a truth that is there cannot be read
};
OpenedCase read_opened_case(const std::filesystem::path& folder, JobContext& context);

/// Something to be read: what went wrong, where, and what to do.
struct Notice {
  enum class Kind { fault, note, refusal } kind{};  ///< a refusal: nothing was there to be done
  std::string what;
  std::string remedy;
  std::optional<double> shown_at{};  ///< by the window's clock; none: not yet
};
/// How long one that is no fault is shown.
inline constexpr double kNoteSeconds = 12;
/// By their places, as they are shown: what went wrong first, the newest first.
std::vector<std::size_t> notices_in_turn(const std::vector<Notice>& notices);
/// Whether there is something for AgeNotices to do.
bool notices_age(const std::vector<Notice>& notices, double seconds);

/// What can be undone: the case, and the band that was given by hand.
struct Undoable {
  Case value;
  AnalysisRequest request;
};

/// What the panels may read. Only Desk changes it.
struct DeskState {
  Settings settings;
  ViewState view;
  std::unique_ptr<OpenedCase> opened;
  std::shared_ptr<const Answer> answer;  ///< null: none yet
  AnalysisRequest request;
  std::array<StepStatus, kSteps> steps{};
  std::vector<Notice> notices;
  std::vector<JobStatus> jobs;
  std::optional<Quiz> quiz;
  std::filesystem::path opening;       ///< a case that is being read
  std::vector<Undoable> cases_before;  ///< for undo, the last change last
  std::vector<Undoable> cases_after;   ///< for redo
  bool answer_outdated{};              ///< it is of the case before the last change
  std::optional<Sheet> sheet;
  HandOverState hand_over;
  BeforeAfter before_after;
  std::optional<std::string> to_copy;  ///< for the clipboard, which whoever draws has
  ListenState listen;
  RecordState record;

  const Analysis* analysis() const { return answer ? &answer->analysis : nullptr; }
};

/// Whether a class can answer now: the quiz asks, and there is something to hold its answer
/// against.
bool can_choose(const DeskState& state);

struct DroppedFiles;
struct StoredTake;

/// Where new cases and files of the user are likely to lie: beside the case, else beside the last.
std::filesystem::path usual_place(const DeskState& state);

/// The model behind the window. Everything happens in the window's thread: intentions come in,
/// jobs compute, and poll() takes their results in. It knows no display.
class Desk {
 public:
  /// `open_sound` makes the system's sound devices, or a test's; without it nothing is heard or
  /// recorded, and told so.
  explicit Desk(Settings settings, std::function<void()> wake = {},
                const OpenSoundSystem& open_sound = {});

  const DeskState& state() const { return state_; }
  const SoundStore& sounds() const { return sounds_; }

  void apply(const Intention& intention);
  /// Takes in what jobs have done. Call once a frame. True if anything changed.
  bool poll();
  /// Until nothing is left to compute.
  void finish_jobs();
  bool busy() const { return jobs_.busy(); }
  /// Whether something plays or is recorded, so that what is drawn moves by itself.
  bool lively() const;
  /// Makes textures of at most `most` tiles that were painted; true if more wait.
  bool upload_tiles(Textures& textures, std::size_t most);

 private:
  void act(const OpenCase& wish);
  void act(const CloseCase& wish);
  void act(const GoTo& wish);
  void act(const GoOn& wish);
  void act(const PickTone& wish);
  void act(const PickTake& wish);
  void act(const PickPoint& wish);
  void act(const CompareTake& wish);
  void act(const ShowDifference& wish);
  void act(const ShowSpectrumOver& wish);
  void act(const SetDark& wish);
  void act(const SetScale& wish);
  void act(const SetClassMode& wish);
  void act(const ShowPart& wish);
  void act(const ShowKeys& wish);
  void act(const ShowCautions& wish);
  void act(const ShowTest& wish);
  void act(const ShowSketch& wish);
  void act(const SetSound& wish);
  void act(const AdjustSound& wish);
  void act(const StepCursor& wish);
  void act(const ZoomPlot& wish);
  void act(const PanPlot& wish);
  void act(const PickAtCursor& wish);
  void act(const PickTrackPoint& wish);
  void act(const StepTrack& wish);
  void act(const StepTone& wish);
  void act(const ShowSoundAs& wish);
  void act(const ReadOrder& wish);
  void act(const GrabLine& wish);
  void act(const SetBand& wish);
  void act(const ArmBandMark& wish);
  void act(const DragBandMark& wish);
  void act(const DropBandMark& wish);
  void act(const CancelJob& wish);
  void act(const AgeNotices& wish);
  void act(const DismissNotice& wish);
  // In class.
  void act(const ShowAnswer& wish);
  void act(const ReadOrderHere& wish);
  void act(const StartQuiz& wish);
  void act(const PointAtChoice& wish);
  void act(const AnswerQuiz& wish);
  void act(const NextQuizCase& wish);
  void act(const StopQuiz& wish);
  void ask_next();
  // Notes pinned to places in a take.
  void act(const PinHere& wish);
  void act(const PickPin& wish);
  void act(const MovePin& wish);
  void act(const MovePinHere& wish);
  void act(const TypePin& wish);
  void act(const WritePin& wish);
  void act(const DropPin& wish);
  void act(const ShowPins& wish);
  void act(const UndoPins& wish);
  bool keep_pins(std::vector<PinnedNote> pins);
  // Of sound: desk_sound.cpp.
  void act(const PlaySound& wish);
  void act(const SeekSound& wish);
  void act(const LoopSound& wish);
  void act(const HearAs& wish);
  void act(const SlowSound& wish);
  void act(const HearAgainst& wish);
  void act(const HearOther& wish);
  void act(const MatchLevels& wish);
  void act(const SetVolume& wish);
  void act(const PlanTakes& wish);
  void act(const RecordPoint& wish);
  void act(const ListDevices& wish);
  void act(const ShowTakes& wish);
  void act(const TypeSpeed& wish);
  void act(const TakeTypedSpeed& wish);
  void act(const BeginRecording& wish);
  void act(const AnswerStep& wish);
  void act(const StopRecording& wish);
  void act(const JudgeTake& wish);
  void follow_sound();
  // What the workshop found, and handing over: desk_edit.cpp.
  void act(const ShowFact& wish);
  void act(const EnterFact& wish);
  void act(const Undo& wish);
  void act(const Redo& wish);
  void act(const TakeOut& wish);
  void act(const SetPaper& wish);
  void act(const WriteOut& wish);
  void act(const CopyTable& wish);
  void act(const TableCopied& wish);
  void act(const SavePicture& wish);
  void act(const ShowFile& wish);
  void refuse(std::string what);
  bool exchange(const Case& wanted);
  bool change_to(const Case& wanted);
  void changed(Case now);
  void put_back(std::vector<Undoable>& from, std::vector<Undoable>& to);
  void forget_changes();
  // What is typed before it is stored: desk_sheet.cpp.
  void act(const BeginSheet& wish);
  void act(const TypeInto& wish);
  void act(const LookFor& wish);
  void act(const LookInto& wish);
  void act(const ChooseFile& wish);
  void act(const TakeChosen& wish);
  void act(const SubmitSheet& wish);
  void act(const SkipSound& wish);
  void act(const CloseSheet& wish);
  void act(const PointAtEntry& wish);
  void act(const DropFiles& wish);
  bool can_take_drops(const DroppedFiles& dropped);
  void drop_sounds(std::vector<std::filesystem::path> sounds);
  void drop_log(const std::filesystem::path& log);
  void ask_about(std::vector<std::filesystem::path> sounds);
  void begin_new_case();
  void make_demos();
  void store_about();
  void set_typed_band();
  void store_take();
  void take_in(StoredTake stored, bool adds);
  void tell_in_sheet(const std::exception& problem);
  // Against a case of before a repair: desk_compare.cpp.
  void act(const CompareWith& wish);
  void act(const ShowBeforeAfter& wish);
  void act(const PickPlace& wish);
  void act(const PickComparedTone& wish);
  void forget_comparison();
  void outdate_comparison();
  void want_comparison();
  void take_in(std::shared_ptr<const EarlierCase> earlier,
               std::shared_ptr<const Comparison> comparison);
  void read_pair();
  void listen_to_picked();
  void listen_to_another_tone();
  void read_again();
  void ready_to_record();
  void end_sound();
  void tell_of_ended_session(const std::optional<SessionView>& session);

  void open_folder(const std::filesystem::path& folder);
  void close_case();
  void take_in(OpenedCase opened);
  void cancel_case_jobs();
  void analyse_case();
  void take_in(Answer answer);
  void choose_what_to_show();
  void want_sounds();
  std::shared_ptr<const TakeSound> picked_sound() const;
  void refresh();
  void tell(const std::exception& problem);

  DeskState state_;
  SoundStore sounds_;
  std::vector<JobId> case_jobs_;
  std::vector<std::filesystem::path> sounds_for_new_case_;
  Listening listening_;
  RecordingDesk recording_;
  Jobs jobs_;  // last, so that its threads end first
};

}  // namespace howl::desk
