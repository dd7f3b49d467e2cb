# What the library stands on. Read by the build and, installed, by the package's config, so that
# both ask for the same. The reader defines swardline_find(name version…).
swardline_find(GDAL 3.6 CONFIG)
swardline_find(PROJ 9 CONFIG)
swardline_find(GEOS 3.11 CONFIG)
swardline_find(SQLite3 3.35)
swardline_find(fmt 9 CONFIG)
swardline_find(tomlplusplus 3 CONFIG)
swardline_find(Threads)

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
