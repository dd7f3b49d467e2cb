# Installs the build, compares the headers with the list of public ones, and builds and runs a
# program that knows the installed package only.
cmake_minimum_required(VERSION 3.25)

function(run)
  execute_process(COMMAND ${ARGN} RESULT_VARIABLE status OUTPUT_VARIABLE said ERROR_VARIABLE said)
  message(STATUS "${ARGN}\n${said}")
  if(NOT status EQUAL 0)
    message(FATAL_ERROR "ended with ${status}: ${ARGN}")
  endif()
  set(said "${said}" PARENT_SCOPE)
endfunction()

file(REMOVE_RECURSE ${WORK})
run(${CMAKE_COMMAND} --install ${BUILD} --prefix ${WORK}/prefix)

file(GLOB_RECURSE installed RELATIVE ${WORK}/prefix/include ${WORK}/prefix/include/*)
file(STRINGS ${KNOWN} lines REGEX "^header ")
set(listed)
foreach(line IN LISTS lines)
  string(REGEX REPLACE "^header .*/lib/(swardline/.*)$" "\\1" name "${line}")
  list(APPEND listed ${name})
endforeach()
list(SORT installed)
list(SORT listed)
if(NOT "${installed}" STREQUAL "${listed}")
  message(FATAL_ERROR "installed headers: ${installed}\npublic headers: ${listed}")
endif()

# No path of the build may have got into the package.
file(GLOB_RECURSE configs ${WORK}/prefix/*.cmake)
foreach(config IN LISTS configs)
  file(READ ${config} text)
  string(FIND "${text}" "${BUILD}" at)
  if(NOT at EQUAL -1)
    message(FATAL_ERROR "${config} names the build folder")
  endif()
endforeach()

# Moved before use: a package must not depend on where it was installed first.
file(RENAME ${WORK}/prefix ${WORK}/moved)
run(${CMAKE_COMMAND} -S ${CONSUMER} -B ${WORK}/consumer -G Ninja -D CMAKE_BUILD_TYPE=Release
    -D CMAKE_CXX_COMPILER=${COMPILER} -D CMAKE_PREFIX_PATH=${WORK}/moved
    -D CMAKE_FIND_USE_PACKAGE_REGISTRY=OFF)
run(${CMAKE_COMMAND} --build ${WORK}/consumer)
run(${WORK}/consumer/consumer)

if(HAS_TOOL)
  run(${WORK}/moved/bin/swardline --version)
  if(NOT said MATCHES "${VERSION}")
    message(FATAL_ERROR "the installed tool's version is not ${VERSION}: ${said}")
  endif()
endif()
