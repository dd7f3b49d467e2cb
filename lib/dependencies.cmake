# What the library stands on. Read by the build and, installed, by the package's config, so that
# both ask for the same. The reader defines swardline_find(name version…).
swardline_find(GDAL 3.6 CONFIG)
swardline_find(PROJ 9 CONFIG)
swardline_find(GEOS 3.11 CONFIG)
swardline_find(SQLite3 3.35)
swardline_find(fmt 9 CONFIG)
swardline_find(tomlplusplus 3 CONFIG)
swardline_find(Threads)

# Debian ships it with a pkg-config file only.
if(NOT TARGET swardline::qrencode)
  find_path(SWARDLINE_QRENCODE_INCLUDE_DIR qrencode.h)
  find_library(SWARDLINE_QRENCODE_LIBRARY qrencode)
  mark_as_advanced(SWARDLINE_QRENCODE_INCLUDE_DIR SWARDLINE_QRENCODE_LIBRARY)
  if(NOT SWARDLINE_QRENCODE_INCLUDE_DIR OR NOT SWARDLINE_QRENCODE_LIBRARY)
    set(SWARDLINE_MISSING "libqrencode is missing (Debian: libqrencode-dev)")
    if(NOT CMAKE_FIND_PACKAGE_NAME)
      message(FATAL_ERROR "${SWARDLINE_MISSING}")
    endif()
    set(${CMAKE_FIND_PACKAGE_NAME}_NOT_FOUND_MESSAGE "${SWARDLINE_MISSING}")
    set(${CMAKE_FIND_PACKAGE_NAME}_FOUND FALSE)
    return()
  endif()
  add_library(swardline::qrencode INTERFACE IMPORTED)
  set_target_properties(swardline::qrencode PROPERTIES
    INTERFACE_LINK_LIBRARIES "${SWARDLINE_QRENCODE_LIBRARY}"
    INTERFACE_INCLUDE_DIRECTORIES "${SWARDLINE_QRENCODE_INCLUDE_DIR}")
endif()

# Debian ships GeographicLib with a find module off the usual path and without a target.
list(APPEND CMAKE_MODULE_PATH /usr/share/cmake/geographiclib)
swardline_find(GeographicLib 2)
list(REMOVE_ITEM CMAKE_MODULE_PATH /usr/share/cmake/geographiclib)
if(GeographicLib_FOUND AND NOT TARGET swardline::GeographicLib)
  add_library(swardline::GeographicLib INTERFACE IMPORTED)
  set_target_properties(swardline::GeographicLib PROPERTIES
    INTERFACE_LINK_LIBRARIES "${GeographicLib_LIBRARIES}"
    INTERFACE_INCLUDE_DIRECTORIES "${GeographicLib_INCLUDE_DIRS}")
endif()
