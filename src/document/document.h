#pragma once

#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "src/report/pictures.h"

namespace howl::document {

/// A report as plain data: what is said, in which order. The writers of PDF and HTML lay it out and
/// add no word to it but page numbers and the list of contents. Texts may be the user's: any bytes,
/// of any length; writers show them as text_lines() gives them, and take nothing in them as markup.

enum class Emphasis { plain, quiet, strong, warning };

struct Paragraph {
  std::string text;
  Emphasis emphasis{};
};

/// A heading within a section.
struct Heading {
  std::string text;
};

struct Bullets {
  std::vector<std::string> items;
  Emphasis emphasis{};
};

/// What is known under each label: "Vehicle" -> "saloon".
struct Facts {
  std::vector<std::pair<std::string, std::string>> items;
};

enum class Align { left, right };

struct Column {
  std::string heading;  ///< with its unit, if it has one: "Level (dB)"
  Align align{};
  bool code{};  ///< long codes, broken anywhere: hashes
};

struct Table {
  std::string caption;
  std::vector<Column> columns;
  std::vector<std::vector<std::string>> rows;  ///< as many cells as columns
  std::string note;                            ///< what its words mean
};

struct Figure {
  std::string caption;
  std::string alternative;  ///< what it shows, for who cannot see it
  AnyPicture picture;
  std::vector<std::string> warnings;  ///< that apply to what it shows
  Table behind;  ///< its figures; HTML shows them on demand, PDF leaves them out
  /// Made smaller, within reason, to let the rest of its section stay on the page.
  bool gives_way{};
};

/// A piece of sound, for HTML; PDF says that it is there.
struct Clip {
  std::string caption;
  std::string description;
  std::string wav;  ///< a whole WAV file
};

using Block = std::variant<Paragraph, Heading, Bullets, Facts, Table, Figure, Clip>;

struct Section {
  std::string id;  ///< "tones": lower-case letters and hyphens, unique
  std::string title;
  std::vector<Block> blocks;
  bool own_page{};  ///< begins a page of paper
};

struct Document {
  std::string title;    ///< of the whole
  std::string subject;  ///< one line
  std::string author;
  std::string created;  ///< ISO 8601, UTC, from the case; may be empty or nonsense
  std::string program;  ///< "howlpoint 0.1.0"
  /// The first one is the first page.
  std::vector<Section> sections;
  std::string manifest;  ///< JSON (src/handover/manifest.h); empty: none
};

}  // namespace howl::document
