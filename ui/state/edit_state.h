#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "ui/state/edit_intentions.h"
#include "ui/state/form.h"

namespace howl::desk {

/// A file that was dropped or named, and is not in the case yet.
struct ListedFile {
  enum class Kind { sound, log } kind{};
  std::filesystem::path file;
  Form form;      ///< of a sound: the take that it is to become
  bool on_way{};  ///< it is being added
};

struct ProfileChoice {
  std::string name;
  std::string title;
  std::string description;
};

/// A file or folder that this window wrote for somebody.
struct Written {
  std::string what;  ///< "The report"
  std::filesystem::path file;
};

/// Everything about editing that panels may read. Only Editing changes it.
struct EditState {
  Form start;  ///< "open": a path; "title", "folder", "profile" of a new case
  Form about;  ///< only what was refused, and why
  Form take;
  Form out;  ///< "report", "paper", "tables", "packed", "picture", "table"
  Sheet sheet{};
  std::vector<ListedFile> files;
  std::size_t picked_file{};
  std::vector<ProfileChoice> profiles;  ///< empty until they are read
  std::string undo;                     ///< what would be undone; empty: nothing
  std::string redo;
  bool unsaved{};                      ///< typed, and not on the disk yet
  bool storing{};                      ///< takes are on their way into the case
  bool outdated{};                     ///< the answer is of the case as it was before an edit
  std::vector<Written> written;        ///< newest first
  std::string said;                    ///< for a few seconds
  std::optional<std::string> to_copy;  ///< for the clipboard; taken by whoever has one
};

}  // namespace howl::desk
