# embed_files(target name file…): builds files into a target, as bytes.
#
# The target may then include "embedded/<name>.h", which declares
#   std::span<const howl::EmbeddedFile> howl::<name>();
# in the order given. A changed file is embedded anew by the next build.
set(EMBED_SCRIPT ${CMAKE_CURRENT_LIST_DIR}/embed_script.cmake)

function(embed_files target name)
  set(folder ${PROJECT_BINARY_DIR}/generated/embedded)
  file(CONFIGURE OUTPUT ${folder}/${name}.h @ONLY CONTENT [[#pragma once

#include <span>

#include "src/embedded.h"

namespace howl {
std::span<const EmbeddedFile> @name@();
}  // namespace howl
]])
  add_custom_command(
    OUTPUT ${folder}/${name}.cpp
    COMMAND ${CMAKE_COMMAND} -DNAME=${name} -DOUTPUT=${folder}/${name}.cpp "-DFILES=${ARGN}"
            -P ${EMBED_SCRIPT}
    DEPENDS ${ARGN} ${EMBED_SCRIPT}
    VERBATIM)
  target_sources(${target} PRIVATE ${folder}/${name}.cpp)
endfunction()
