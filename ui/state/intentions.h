#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "dsp/statistics.h"
#include "src/analysis/analysis.h"
#include "src/listen/render.h"
#include "ui/jobs/jobs.h"
#include "ui/state/hand_over.h"
#include "ui/state/recording.h"
#include "ui/state/sheet.h"
#include "ui/state/view_state.h"

namespace howl::desk {

/// What somebody wants the window to do. Panels, keys and scripts all say it in these words, and
/// only Desk::apply() acts on them.
struct OpenCase {
  std::filesystem::path folder;
};
struct CloseCase {};
struct GoTo {
  Step step{};
};
struct GoOn {
  int by{};  ///< steps forward, or back
};
struct PickTone {
  std::optional<std::string> id;
};
struct PickTake {
  std::optional<std::string> id;
};
struct PickPoint {
  std::optional<std::string> name;
};
struct CompareTake {  ///< lays its spectrum over, or takes it away again
  std::string id;
};
struct ShowSpectrumOver {  ///< orders, or Hz; none: what is best for the take
  std::optional<bool> orders;
};
struct ShowDifference {  ///< of the compared spectra
  bool on{};
};
struct SetDark {
  bool dark{};
};
struct SetScale {
  double scale{};
};
struct SetClassMode {
  bool on{};
};
struct ShowAnswer {  ///< to a class, or hide it again
  bool on{};
};
struct ReadOrderHere {};  ///< lays an order line through the cursor
struct StartQuiz {
  std::optional<std::uint64_t> seed;  ///< of the order of its cases; none: any
};
struct PointAtChoice {  ///< by keys
  int by{};
};
struct AnswerQuiz {
  std::string choice;
};
struct NextQuizCase {};
struct StopQuiz {};
struct PinHere {};  ///< a note at the cursor
struct PickPin {
  std::optional<std::size_t> index;
  bool write{};  ///< begin to type its text
};
struct MovePin {
  std::size_t index{};
  double time_s{};
  double value{};  ///< in its own unit: Hz, or an order
};
struct MovePinHere {};  ///< the picked one to the cursor
struct TypePin {        ///< for the picked one, not kept before typing ends
  std::string text;
};
struct WritePin {
  std::size_t index{};
  std::string text;
};
struct DropPin {
  std::size_t index{};
};
struct ShowPins {
  bool on{};
};
struct UndoPins {};
struct ShowPart {  ///< of a step, where there is no room for all of its parts at once
  Step step{};
  std::size_t part{};
};
struct ShowKeys {
  bool on{};
};
struct ShowCautions {
  bool on{};
};
struct ShowSketch {  ///< one of the views of the vehicle
  std::size_t view{};
};
struct ShowTest {
  std::size_t number{};
};
struct SetSound {  ///< zoom, pan, cursor
  SoundView view;
};
struct AdjustSound {  ///< the same, but what is not given stays
  SoundView view;
};
struct StepCursor {  ///< by shares of what the plot shows
  SoundPart plot{};
  double across{};
  double up{};
};
struct ZoomPlot {  ///< about the cursor; below 1: nearer
  SoundPart plot{};
  double time{1};
  double rows{1};  ///< frequency, or orders
};
struct PanPlot {  ///< by shares of what the plot shows
  SoundPart plot{};
  double across{};
  double up{};
};
struct PickAtCursor {  ///< the tone there, else an order line through it
  SoundPart plot{};
};
struct PickTrackPoint {  ///< of a tone: the cursor goes there in every plot
  std::string tone;
  std::size_t index{};
};
struct StepTrack {  ///< along the points of the tone whose pitch is shown, by their speed
  int by{};         ///< 0: to the one at the cursor
};
struct StepTone {  ///< to the tone that is next above at the cursor's speed, or below
  int up{};
};
struct ShowSoundAs {
  SoundPlot plot{};
};
struct ReadOrder {
  std::optional<double> order;
};
struct GrabLine {
  bool held{};
};
struct SetBand {  ///< none: the one that the program finds
  std::optional<AnalysisRequest::Band> band;
};
struct ArmBandMark {  ///< the next drag marks it
  bool on{};
};
struct DragBandMark {
  BandMark mark;
};
struct DropBandMark {};  ///< what was dragged over is the band

// Against a case of before a repair: desk_compare.cpp.
struct CompareWith {
  std::filesystem::path folder;  ///< empty: with none
};
struct ShowBeforeAfter {  ///< in Proof, instead of the next tests
  bool on{};
};
struct PickPlace {  ///< of those that are compared
  std::size_t index{};
};
struct PickComparedTone {
  std::size_t index{};
};

struct CancelJob {
  JobId id{};
};
struct AgeNotices {  ///< what need not be read any more goes by itself
  double seconds{};  ///< the window's clock
};
struct DismissNotice {
  std::size_t index{};
};

// Listening.
struct PlaySound {
  bool on{};
};
struct SeekSound {   ///< while it plays
  double seconds{};  ///< of the take
};
struct LoopSound {
  bool on{};
};
struct HearAs {
  Heard heard{};
};
struct SlowSound {
  int by{};  ///< 1, 2 or 4
};
struct HearAgainst {  ///< the take to switch to and fro with
  std::optional<std::string> take;
};
struct HearOther {  ///< it, or the picked one
  bool on{};
};
struct MatchLevels {
  bool on{};
};
struct SetVolume {
  double db{};
};

// Recording.
struct PlanTakes {
  AdjustPlan change;
};
struct RecordPoint {  ///< leads to the step Record, this point chosen
  std::string point;  ///< empty: the one that is chosen there
};
struct ListDevices {};
struct ShowTakes {  ///< instead of the plan
  bool on{};
};
struct TypeSpeed {  ///< the number pad, and what was typed on it so far
  bool shown{};
  std::string digits;
};
struct TakeTypedSpeed {};  ///< the plan's, where it is one that an engine has
struct BeginRecording {};
struct AnswerStep {
  ReadyAnswer answer;
};
struct StopRecording {};
struct JudgeTake {
  VerdictAnswer answer{};
};

// What the workshop found, and handing over: desk_edit.cpp.
struct ShowFact {  ///< under Complaint, where it is entered
  std::string key;
};
struct EnterFact {
  std::string key;
  std::optional<std::string> value;  ///< none: it was not looked at
};
struct Undo {};  ///< the last change of the case
struct Redo {};
struct TakeOut {  ///< out of the case; its recording is set aside
  std::string take;
};

// What is typed before it is stored: desk_sheet.cpp.
struct BeginSheet {
  SheetKind kind{};
  std::string take{};                           ///< to be changed
  std::vector<std::filesystem::path> sounds{};  ///< to be added
};
struct TypeInto {
  std::string field;
  std::string text;
};
struct LookFor {  ///< on the disk, or no longer
  Wanted wanted{};
};
struct LookInto {
  std::filesystem::path folder;
};
struct PointAtEntry {  ///< of the folder that is looked into, by keys
  std::string name;
};
struct ChooseFile {  ///< of those that are looked for; a sound is put among the chosen, or out
  std::filesystem::path file;
};
struct TakeChosen {};  ///< add the chosen sounds
struct SubmitSheet {};
struct SkipSound {};  ///< the one that is asked about is not added
struct CloseSheet {};
struct DropFiles {  ///< on the window
  std::vector<std::filesystem::path> paths;
};
struct SetPaper {
  document::Paper paper{};
};
struct WriteOut {  ///< to a free place beside the case
  HandOver what{};
};
struct CopyTable {};    ///< of the step, to the clipboard
struct TableCopied {};  ///< it is there now
struct SavePicture {};  ///< of the step, to a free place beside the case
struct ShowFile {
  std::filesystem::path file;
};

using Intention = std::variant<
    OpenCase, CloseCase, GoTo, GoOn, PickTone, PickTake, PickPoint, CompareTake, SetDark, SetScale,
    SetClassMode, ShowPart, ShowKeys, ShowCautions, ShowTest, ShowSketch, SetSound, AdjustSound,
    StepCursor, ZoomPlot, PanPlot, PickAtCursor, PickTrackPoint, StepTrack, StepTone, ShowSoundAs,
    ReadOrder, GrabLine, SetBand, CancelJob, AgeNotices, DismissNotice, StartQuiz, PointAtChoice,
    AnswerQuiz, NextQuizCase, StopQuiz, PinHere, PickPin, MovePin, MovePinHere, TypePin, WritePin,
    DropPin, ShowPins, UndoPins, ShowAnswer, ReadOrderHere, PlaySound, SeekSound, LoopSound, HearAs,
    SlowSound, HearAgainst, HearOther, MatchLevels, SetVolume, PlanTakes, ListDevices, ShowTakes,
    TypeSpeed, TakeTypedSpeed, BeginRecording, AnswerStep, StopRecording, JudgeTake, EnterFact,
    Undo, Redo, TakeOut, BeginSheet, TypeInto, LookFor, LookInto, PointAtEntry, ChooseFile,
    TakeChosen, SubmitSheet, SkipSound, CloseSheet, DropFiles, SetPaper, WriteOut, CopyTable,
    TableCopied, SavePicture, ShowFile, ShowDifference, ShowSpectrumOver, ArmBandMark, DragBandMark,
    DropBandMark, CompareWith, ShowBeforeAfter, PickPlace, PickComparedTone, RecordPoint, ShowFact>;
using Intentions = std::vector<Intention>;

}  // namespace howl::desk
