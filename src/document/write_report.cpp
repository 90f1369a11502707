#include "src/document/write_report.h"

#include <string>

#include "src/document/html_writer.h"
#include "src/document/pdf_writer.h"
#include "src/errors.h"
#include "src/lower_case.h"
#include "src/report/picture_file.h"

namespace howl::document {

ReportFormat report_format_of(const std::filesystem::path& file) {
  const std::string ending = lower_case(file.extension().string());
  if (ending == ".pdf") return ReportFormat::pdf;
  if (ending == ".html" || ending == ".htm") return ReportFormat::html;
  throw Error(Fault::command, file.string(), "the ending does not name a kind of report",
              "end the name in .pdf or .html");
}

void write_report(const Document& document, Paper paper, const std::filesystem::path& file) {
  const bool pdf = report_format_of(file) == ReportFormat::pdf;
  picture::write_whole(file, pdf ? pdf_of(document, paper) : html_of(document));
}

}  // namespace howl::document
