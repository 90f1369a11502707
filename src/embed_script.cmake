# Run by embed_files() at build time: writes OUTPUT, which holds the bytes of FILES.
set(arrays "")
set(table "")
set(index 0)
foreach(file IN LISTS FILES)
  file(READ ${file} bytes HEX)
  string(REGEX REPLACE "([0-9a-f][0-9a-f])" "'\\\\x\\1'," bytes "${bytes}")
  string(REGEX REPLACE "(('[^']*',){16})" "\\1\n    " bytes "${bytes}")
  get_filename_component(base ${file} NAME)
  string(APPEND arrays "constexpr char file_${index}[] = {\n    ${bytes}'\\0'};\n")
  string(APPEND table "    {\"${base}\", {file_${index}, sizeof file_${index} - 1}},\n")
  math(EXPR index "${index} + 1")
endforeach()

file(WRITE ${OUTPUT} "#include \"embedded/${NAME}.h\"

#include <array>

namespace howl {

namespace {
${arrays}
constexpr std::array<EmbeddedFile, ${index}> files{{
${table}}};
}  // namespace

std::span<const EmbeddedFile> ${NAME}() { return files; }

}  // namespace howl
")
