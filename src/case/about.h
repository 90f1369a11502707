#pragma once

#include <array>
#include <string>
#include <string_view>

#include "src/case/case.h"

namespace howl {

/// One thing that may be entered about a complaint: how it is named in case.json, on the command
/// line and in a report, and where it is kept.
struct AboutField {
  std::string_view key;     ///< "recorded_by"
  std::string_view option;  ///< "--by"
  std::string_view label;   ///< "Recorded by"
  std::string_view help;
  std::string CaseAbout::*value;
};
inline constexpr std::array<AboutField, 6> about_fields{{
    {"complaint", "--complaint", "Complaint", "What is complained of, in the customer's words",
     &CaseAbout::complaint},
    {"vehicle", "--vehicle", "Vehicle", "Which vehicle: kind, plate, distance run",
     &CaseAbout::vehicle},
    {"customer", "--customer", "Customer", "Who complains", &CaseAbout::customer},
    {"recorded_by", "--by", "Recorded by", "Who recorded and looked", &CaseAbout::recorded_by},
    {"recorded_on", "--on", "Recorded on", "When, in any words", &CaseAbout::recorded_on},
    {"job", "--job", "Job", "Number of the job or claim", &CaseAbout::job},
}};

}  // namespace howl
