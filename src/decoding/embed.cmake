# embed.cmake - writes the files of DIRECTORY/*.json as bytes into a C file, OUTPUT.
#
# cmake -DOUTPUT=... -DDIRECTORY=... -P embed.cmake

file(GLOB files ${DIRECTORY}/*.json)
list(SORT files)

set(arrays "")
set(rows "")
set(number 0)
foreach(file IN LISTS files)
    get_filename_component(name ${file} NAME)
    file(READ ${file} bytes HEX)
    string(LENGTH "${bytes}" digits)
    math(EXPR length "${digits} / 2")
    string(REGEX REPLACE "([0-9a-f][0-9a-f])" "0x\\1," bytes "${bytes}")
    string(REGEX REPLACE "(................................................................................)"
        "\\1\n" bytes "${bytes}")
    string(APPEND arrays "static const unsigned char file_${number}[] = {\n${bytes}0};\n")
    string(APPEND rows "    {\"${name}\", (const char *)file_${number}, ${length}},\n")
    math(EXPR number "${number} + 1")
endforeach()

file(WRITE ${OUTPUT}
"/* Generated from decoders/ by embed.cmake. */
#include \"decoding/store.h\"

${arrays}
const struct builtin_file builtin_files[] = {
${rows}    {NULL, NULL, 0}, /* no array is empty */
};
const size_t builtin_file_count = ${number};
")
