#pragma once

#include "src/cli/session.h"

namespace CLI {
class App;
}

namespace howl {

/// Each registers one command, with its options and help, in the program. `session` must outlive
/// `program`. The command runs while the program parses, and throws Error.
void add_new_command(CLI::App& program, Session& session);
void add_about_command(CLI::App& program, Session& session);
void add_add_command(CLI::App& program, Session& session);
void add_analyse_command(CLI::App& program, Session& session);
void add_evidence_command(CLI::App& program, Session& session);
void add_compare_command(CLI::App& program, Session& session);
void add_picture_command(CLI::App& program, Session& session);
void add_isolate_command(CLI::App& program, Session& session);
void add_change_command(CLI::App& program, Session& session);
void add_remove_command(CLI::App& program, Session& session);
void add_devices_command(CLI::App& program, Session& session);
void add_record_command(CLI::App& program, Session& session);
void add_session_command(CLI::App& program, Session& session);
void add_report_command(CLI::App& program, Session& session);
void add_export_command(CLI::App& program, Session& session);
void add_pack_command(CLI::App& program, Session& session);
void add_unpack_command(CLI::App& program, Session& session);
void add_check_command(CLI::App& program, Session& session);
void add_profiles_command(CLI::App& program, Session& session);
void add_bearing_command(CLI::App& program, Session& session);
void add_demo_command(CLI::App& program, Session& session);

}  // namespace howl
