#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "src/case/case.h"
#include "src/files/descriptor.h"
#include "src/keeping/add_take.h"

namespace howl {

inline constexpr std::string_view unfinished_folder = "unfinished";

/// A take that is being recorded, in the case folder beside the finished ones: its plan, held by a
/// lock as long as this value lives, and the file that the sound goes to. What is left of it when
/// the program or the machine dies is made a take by mend_unfinished().
class UnfinishedTake {
 public:
  /// Chooses names and writes the plan; the recording is for the caller to make. `planned` says
  /// everything but what the recording will: id, file, hash, length. It needs its channels and
  /// sample rate. Throws Error.
  UnfinishedTake(std::filesystem::path folder, Take planned, bool make_point);
  ~UnfinishedTake();
  UnfinishedTake(UnfinishedTake&&) noexcept;
  UnfinishedTake& operator=(UnfinishedTake&&) = delete;

  /// Where the sound goes.
  const std::filesystem::path& recording() const { return recording_; }
  /// The take as far as it is known, for judging it before it is kept: `recording` is its path in
  /// the case folder. `frames` are for the caller to fill in.
  Take so_far() const;

  void note_overruns(const std::vector<Overrun>& overruns);
  /// Whether the finished recording never changes in any channel: nothing was connected. Reads it
  /// through; ask when keep() refuses it.
  bool is_silent() const;
  /// Makes the finished recording a take of the case. Throws what add_take() throws; then the
  /// recording and its plan are still there.
  AddedTake keep();
  /// Deletes the recording and the plan.
  void discard();

 private:
  void write_plan() const;

  std::filesystem::path folder_;
  std::filesystem::path recording_;
  std::filesystem::path plan_;
  std::filesystem::path lock_file_;
  Take take_;
  bool make_point_;
  Descriptor lock_;
};

/// What became of a recording that was never finished.
struct Mending {
  std::string recording;  ///< the file, as it was found
  std::string outcome;    ///< "was not finished; kept as t05, 12.3 s", without a full stop
  bool settled{};         ///< nothing is left to do for the user
};

/// Looks for recordings that were never finished because the program or the machine died, mends
/// them and makes takes of them. One that a living program is recording is left alone. Less than
/// half a second, and digital silence, is deleted. What cannot be made a take stays, with what to
/// do. Throws Error where the case cannot be read or written.
std::vector<Mending> mend_unfinished(const std::filesystem::path& folder);

}  // namespace howl
