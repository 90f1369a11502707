#pragma once

#include <cstddef>
#include <filesystem>
#include <string>
#include <variant>
#include <vector>

namespace howl::desk {

// Intentions that change a case, bring something into it or take something out of it. All of them
// are acted on in ui/state/editing.cpp.

/// Text of a field. Those of the case are entered into it: "title", "about.KEY", "evidence.KEY" (no
/// text: nothing was found out), "note.KEY". Those of forms wait until the form is used: "start.…",
/// "file.…" of the recording that is to be added, "take.…" of the take that is changed, "out.…".
struct Enter {
  std::string field;
  std::string text;
  bool ended{true};  ///< false while somebody is still typing
};

/// Lies over the view until it is done with.
enum class Sheet { none, add, take, save };
struct ShowSheet {
  Sheet sheet{};
};

struct BeginCase {};
/// Cases are opened, recordings and logs are listed to be taken in.
struct DropFiles {
  std::vector<std::filesystem::path> files;
};
struct PickFile {
  std::size_t index{};
};
struct LeaveOutFile {
  std::size_t index{};
};
struct SameForAll {};  ///< the facts of the picked recording for all that are listed
struct TakeIn {
  bool all{};  ///< all that lack nothing; else the one that is picked
};
/// The listed log belongs to a listed recording (by its path) or to a take (by its id).
struct AttachLog {
  std::size_t index{};
  std::string to;
};
struct ChangeTake {};  ///< the picked take gets the facts of its form
struct TakeOut {
  std::string take;
};
struct Undo {};
struct Redo {};
struct AnalyseAgain {};

struct CopyTable {};
struct SaveTable {};
struct SavePicture {};
enum class Paper { report, tables, packed };
struct WriteOut {
  Paper paper{};
};
struct CopyText {
  std::string text;
};
struct ShowFile {  ///< in the program that the system has for it
  std::filesystem::path file;
};

using EditWish =
    std::variant<Enter, ShowSheet, BeginCase, DropFiles, PickFile, LeaveOutFile, SameForAll, TakeIn,
                 AttachLog, ChangeTake, TakeOut, Undo, Redo, AnalyseAgain, CopyTable, SaveTable,
                 SavePicture, WriteOut, CopyText, ShowFile>;

}  // namespace howl::desk
