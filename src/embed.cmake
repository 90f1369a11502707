# embed_files(TARGET target NAME identifier FILES file...)
#
# Builds text files into a target: writes <build>/generated/embedded/<identifier>.h and .cpp with
# std::span<const howl::EmbeddedFile> howl::<identifier>(), in the order of FILES. A changed file
# runs CMake again, and only a changed text recompiles.
function(embed_files)
  cmake_parse_arguments(PARSE_ARGV 0 EMBED "" "TARGET;NAME" "FILES")
  set(folder ${PROJECT_BINARY_DIR}/generated/embedded)
  list(LENGTH EMBED_FILES count)

  set(entries "")
  foreach(file IN LISTS EMBED_FILES)
    set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS ${file})
    file(READ ${file} text)
    cmake_path(GET file STEM LAST_ONLY name)
    string(APPEND entries "    {\"${name}\", R\"embedded(${text})embedded\"},\n")
  endforeach()

  string(CONCAT header
    "#pragma once\n\n#include <span>\n\n#include \"src/embedded.h\"\n\n"
    "namespace howl {\n\nstd::span<const EmbeddedFile> ${EMBED_NAME}();\n\n}  // namespace howl\n")
  string(CONCAT source
    "#include \"embedded/${EMBED_NAME}.h\"\n\n#include <array>\n\nnamespace howl {\n\n"
    "std::span<const EmbeddedFile> ${EMBED_NAME}() {\n"
    "  static constexpr std::array<EmbeddedFile, ${count}> files{{\n${entries}  }};\n"
    "  return files;\n}\n\n}  // namespace howl\n")
  file(WRITE ${folder}/${EMBED_NAME}.h.new "${header}")
  file(WRITE ${folder}/${EMBED_NAME}.cpp.new "${source}")
  file(COPY_FILE ${folder}/${EMBED_NAME}.h.new ${folder}/${EMBED_NAME}.h ONLY_IF_DIFFERENT)
  file(COPY_FILE ${folder}/${EMBED_NAME}.cpp.new ${folder}/${EMBED_NAME}.cpp ONLY_IF_DIFFERENT)
  target_sources(${EMBED_TARGET} PRIVATE ${folder}/${EMBED_NAME}.cpp)
endfunction()
