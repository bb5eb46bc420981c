# Debian packages by `cpack -G DEB`, from a build with -DCMAKE_INSTALL_PREFIX=/usr:
#
#     drawbar             the command with its manual, completion, definitions and schemas
#     libdrawbar<ABI>     the shared library
#     libdrawbar-dev      headers, archive, pkg-config, cmake
#
# Dependencies are found by dpkg-shlibdeps; finish.cmake does what Debian's policy asks for beside.
set(LIBRARY_PACKAGE libdrawbar${DRAWBAR_ABI})

set(CPACK_PACKAGE_NAME drawbar)
set(CPACK_PACKAGE_VENDOR Drawbar)
set(CPACK_PACKAGE_CONTACT "Drawbar maintainers <maintainers@drawbar.example.org>")
set(CPACK_PACKAGE_VERSION ${PROJECT_VERSION})
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_GENERATOR DEB)
set(CPACK_STRIP_FILES ON)
set(CPACK_INSTALL_DEFAULT_DIRECTORY_PERMISSIONS
    OWNER_READ OWNER_WRITE OWNER_EXECUTE GROUP_READ GROUP_EXECUTE WORLD_READ WORLD_EXECUTE)
set(CPACK_PRE_BUILD_SCRIPTS ${PROJECT_SOURCE_DIR}/src/package/finish.cmake)
set(CPACK_DRAWBAR_DOCUMENTS ${PROJECT_SOURCE_DIR}/src/package)
set(CPACK_DRAWBAR_CHARTS ${DYGRAPHS_FOLDER})

set(CPACK_COMPONENTS_ALL command library development)
set(CPACK_COMPONENTS_GROUPING IGNORE)
set(CPACK_DEB_COMPONENT_INSTALL ON)
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_RELEASE 1)
set(CPACK_DEBIAN_PACKAGE_CONTROL_STRICT_PERMISSION ON)
set(CPACK_DEBIAN_PACKAGE_GENERATE_SHLIBS ON)
set(CPACK_DEBIAN_PACKAGE_GENERATE_SHLIBS_POLICY ">=")

set(CPACK_DEBIAN_COMMAND_PACKAGE_NAME drawbar)
set(CPACK_DEBIAN_COMMAND_PACKAGE_SECTION utils)
set(CPACK_DEBIAN_COMMAND_PACKAGE_SHLIBDEPS ON)
set(CPACK_COMPONENT_COMMAND_DESCRIPTION "diagnosis of CAN recordings of tractor and implement
Reads a recording of the CAN traffic between a tractor and its implement
(ISO 11783, SAE J1939, NMEA 2000) and says what went wrong, when, where on the
harness, and what to check next.
.
Recordings are candump-style text, pcap or pcapng, each also gzip'd. Reports
are text, JSON, or a page of HTML with a timeline.")

set(CPACK_DEBIAN_LIBRARY_PACKAGE_NAME ${LIBRARY_PACKAGE})
set(CPACK_DEBIAN_LIBRARY_PACKAGE_SECTION libs)
set(CPACK_DEBIAN_LIBRARY_PACKAGE_SHLIBDEPS ON)
set(CPACK_COMPONENT_LIBRARY_DESCRIPTION "diagnosis of CAN recordings of tractor and implement (library)
Reads recordings of the CAN traffic between a tractor and its implement,
decodes messages, tracks what happened, and finds what went wrong.
.
This package has the shared library.")

set(CPACK_DEBIAN_DEVELOPMENT_PACKAGE_NAME libdrawbar-dev)
set(CPACK_DEBIAN_DEVELOPMENT_PACKAGE_SECTION libdevel)
set(CPACK_DEBIAN_DEVELOPMENT_PACKAGE_DEPENDS
    "${LIBRARY_PACKAGE} (= ${PROJECT_VERSION}-1), libcjson-dev, libpcap-dev, zlib1g-dev")
set(CPACK_COMPONENT_DEVELOPMENT_DESCRIPTION "diagnosis of CAN recordings of tractor and implement (development)
Reads recordings of the CAN traffic between a tractor and its implement,
decodes messages, tracks what happened, and finds what went wrong.
.
This package has the headers, the static library, and what pkg-config and
CMake need to find them.")
# The loader's cache has to know of the library, and forget it.
set(CPACK_DEBIAN_LIBRARY_PACKAGE_CONTROL_EXTRA ${PROJECT_SOURCE_DIR}/src/package/triggers)

include(CPack)
