# embed.cmake - writes the parts of the report page as bytes into a C file, OUTPUT.
#
# cmake -DOUTPUT=... -DDIRECTORY=src/reporting/page -DDYGRAPHS=FOLDER -P embed.cmake
#
# All scripts become one, page.js, in the order of order.txt, and all styles one,
# page.css: the page admits them by their hash. The charting library is read from the
# folder where its package put it.

file(STRINGS ${DIRECTORY}/order.txt names REGEX "^[^#]")
set(scripts ${DYGRAPHS}/dygraph.min.js)
foreach(name IN LISTS names)
    list(APPEND scripts ${DIRECTORY}/${name})
endforeach()
set(styles ${DYGRAPHS}/dygraph.min.css ${DIRECTORY}/page.css)

# Joins files into OUTPUT.NAME. The note in which the library names a map beside itself
# goes: a browser's tools would ask for it. What would end a script inside HTML is refused.
function(join name)
    set(all "")
    foreach(file IN LISTS ARGN)
        file(READ ${file} text)
        string(REGEX REPLACE "/[/*]# sourceMappingURL=[^\n]*" "" text "${text}")
        string(TOLOWER "${text}" lower)
        if(lower MATCHES "</(script|style)|<!--")
            message(FATAL_ERROR "${file} holds \"${CMAKE_MATCH_0}\", which would end it inside a page")
        endif()
        string(APPEND all "${text}\n")
    endforeach()
    file(WRITE ${OUTPUT}.${name} "${all}")
endfunction()

# A template, with each {{+part.html}} in it replaced by the file of that name.
function(put_parts template output)
    file(READ ${template} text)
    while(text MATCHES "{{[+]([a-z]+[.]html)}}\n")
        file(READ ${DIRECTORY}/${CMAKE_MATCH_1} part)
        string(REPLACE "${CMAKE_MATCH_0}" "${part}" text "${text}")
    endwhile()
    file(WRITE ${output} "${text}")
endfunction()

# The SHA-256 of a file in base64, as a content security policy wants it.
function(hash_base64 file result)
    set(letters "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/")
    file(SHA256 ${file} hex)
    set(text "")
    # 32 bytes are ten groups of three and one of two, which a zero fills up.
    foreach(group RANGE 10)
        math(EXPR at "${group} * 6")
        string(SUBSTRING "${hex}0000" ${at} 6 six)
        foreach(shift 18 12 6 0)
            math(EXPR index "(0x${six} >> ${shift}) & 63")
            string(SUBSTRING "${letters}" ${index} 1 letter)
            string(APPEND text "${letter}")
        endforeach()
    endforeach()
    string(SUBSTRING "${text}" 0 43 text)
    set(${result} "${text}=" PARENT_SCOPE)
endfunction()

set(arrays "")
set(rows "")
set(number 0)
function(embed name file hash)
    file(READ ${file} bytes HEX)
    string(LENGTH "${bytes}" digits)
    math(EXPR length "${digits} / 2")
    string(REGEX REPLACE "([0-9a-f][0-9a-f])" "0x\\1," bytes "${bytes}")
    string(REGEX REPLACE "(................................................................................)"
        "\\1\n" bytes "${bytes}")
    string(APPEND arrays "static const unsigned char asset_${number}[] = {\n${bytes}0};\n")
    string(APPEND rows
        "    {\"${name}\", (const char *)asset_${number}, ${length}, \"${hash}\"},\n")
    math(EXPR next "${number} + 1")
    set(arrays "${arrays}" PARENT_SCOPE)
    set(rows "${rows}" PARENT_SCOPE)
    set(number ${next} PARENT_SCOPE)
endfunction()

join(page.js ${scripts})
join(page.css ${styles})
# The index of an inbox has no curves to draw: it comes without the library.
join(index.js ${DIRECTORY}/index.js)
join(index.css ${DIRECTORY}/page.css ${DIRECTORY}/index.css)
foreach(name page.js page.css index.js index.css)
    hash_base64(${OUTPUT}.${name} hash)
    embed(${name} ${OUTPUT}.${name} "sha256-${hash}")
endforeach()
foreach(name page.html compare.html index.html key.html)
    put_parts(${DIRECTORY}/${name} ${OUTPUT}.${name})
    embed(${name} ${OUTPUT}.${name} "")
endforeach()

file(WRITE ${OUTPUT}
"/* Generated from src/reporting/page by embed.cmake. */
#include \"reporting/page.h\"

${arrays}
const struct page_asset page_assets[] = {
${rows}};
const size_t page_asset_count = ${number};
")
