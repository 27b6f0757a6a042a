# The library once more, for browsers: `publish --page` puts it into a page. Needs Debian's emscripten; without it the
# program is built all the same, and says what is missing when it is asked for a page.
# Sets browser_files: what the program then carries.
set(BEDWRIGHT_BROWSER AUTO CACHE STRING "Compile the core for browsers: AUTO (where em++ is found), ON, OFF")
set_property(CACHE BEDWRIGHT_BROWSER PROPERTY STRINGS AUTO ON OFF)
find_program(BEDWRIGHT_EMXX em++ DOC "Compiles the core for browsers")
file(GLOB browser_page CONFIGURE_DEPENDS src/browser/*.js src/browser/*.css src/browser/*.html)
set(browser_files ${browser_page})

if(BEDWRIGHT_BROWSER STREQUAL "ON" AND NOT BEDWRIGHT_EMXX)
  message(FATAL_ERROR "em++ is missing: run scripts/setup, or apt-get install emscripten")
endif()
if(BEDWRIGHT_BROWSER STREQUAL "OFF" OR NOT BEDWRIGHT_EMXX OR NOT Python3_FOUND)
  set(BEDWRIGHT_HAS_BROWSER OFF)
  return()
endif()
set(BEDWRIGHT_HAS_BROWSER ON)

set(browser_dir ${PROJECT_BINARY_DIR}/browser)
# Headers of these libraries and of nothing else: the system's own belong to another machine.
find_path(browser_cgal CGAL/version.h REQUIRED NO_CACHE)
find_path(browser_boost boost/version.hpp REQUIRED NO_CACHE)
find_path(browser_eigen Eigen/Core PATH_SUFFIXES eigen3 REQUIRED NO_CACHE)
find_path(browser_json nlohmann/json.hpp REQUIRED NO_CACHE)
find_path(browser_fmt fmt/core.h REQUIRED NO_CACHE)
file(MAKE_DIRECTORY ${browser_dir}/include)
foreach(entry ${browser_cgal}/CGAL ${browser_boost}/boost ${browser_eigen}/Eigen ${browser_json}/nlohmann ${browser_fmt}/fmt)
  get_filename_component(name ${entry} NAME)
  file(CREATE_LINK ${entry} ${browser_dir}/include/${name} SYMBOLIC)
endforeach()

# From kit to files no room needs a folder, an archive or another's mesh: what reads those stays out.
set(browser_sources ${library_sources})
list(FILTER browser_sources EXCLUDE REGEX "/(read_3mf|model_markup|strict_markup|unzip|bundle|bundle_texts|write_set|set_check|\
byte_source|read_scan|read_ply|interview.*|calibrate|calibrate_report|contour|contour_report|survey|survey_.*|level_picture|level_sheet|\
measuring_sheet|variants|cloud|large_scan|gather|outline|picker|hole|region|scale|sphere_pass|gauge_report|trials|visitor_page)[.]cpp$")
group_sources(browser_groups ${browser_dir}/groups 22 ${browser_sources})

# three.js stands in the page once; the core is given it from there.
set(browser_page_source ${browser_dir}/embedded_page.cpp)
embed(${browser_page_source} page_file_within ${page})

# What decides bytes is as in the library's own flags. WebAssembly rounds to nearest only, which CGAL must know.
set(browser_flags -std=c++17 -O2 -DNDEBUG -DEIGEN_DONT_VECTORIZE -DFMT_HEADER_ONLY -ffp-contract=off -fwasm-exceptions
    -DCGAL_DISABLE_GMP -DCGAL_NO_GMP -DCGAL_USE_BOOST_MP=1 -DCGAL_ALWAYS_ROUND_TO_NEAREST
    -isystem ${browser_dir}/include -I${PROJECT_SOURCE_DIR}/src)
# Its optimiser is a node program that looks for its parser here.
set(browser_env ${CMAKE_COMMAND} -E env NODE_PATH=/usr/share/nodejs)
if(CMAKE_CXX_COMPILER_LAUNCHER MATCHES "ccache$")
  list(APPEND browser_env EM_COMPILER_WRAPPER=${CMAKE_CXX_COMPILER_LAUNCHER})
endif()
set(browser_objects "")
foreach(source ${browser_groups} ${PROJECT_SOURCE_DIR}/src/browser/exports.cpp ${embedded_source} ${digest_source}
        ${browser_page_source})
  get_filename_component(name ${source} NAME_WE)
  set(object ${browser_dir}/${name}.o)
  add_custom_command(
    OUTPUT ${object}
    COMMAND ${browser_env} ${BEDWRIGHT_EMXX} ${browser_flags} -MMD -MF ${object}.d -MT ${object} -c ${source} -o ${object}
    DEPENDS ${source}
    DEPFILE ${object}.d
    COMMENT "For browsers: ${name}"
    VERBATIM)
  list(APPEND browser_objects ${object})
endforeach()
set(browser_core ${browser_dir}/core.js ${browser_dir}/core.wasm)
add_custom_command(
  OUTPUT ${browser_core}
  COMMAND ${browser_env} ${BEDWRIGHT_EMXX} -O2 -fwasm-exceptions ${browser_objects} -o ${browser_dir}/core.js --no-entry
          -sMODULARIZE=1 -sEXPORT_NAME=bedwrightCore -sENVIRONMENT=web,worker,node -sFILESYSTEM=0 -sDYNAMIC_EXECUTION=0
          -sALLOW_MEMORY_GROWTH=1 -sINITIAL_MEMORY=33554432 -sTOTAL_STACK=4194304 -sMALLOC=emmalloc
          -sEXPORTED_FUNCTIONS=_bw_room,_bw_give,_bw_ask,_bw_answer_size,_bw_bytes,_bw_bytes_size
  DEPENDS ${browser_objects}
  COMMENT "For browsers: core.wasm"
  VERBATIM)
set(browser_packed ${browser_dir}/core.wasm.packed ${browser_dir}/three.min.js.packed)
add_custom_command(
  OUTPUT ${browser_packed}
  COMMAND Python3::Interpreter ${PROJECT_SOURCE_DIR}/scripts/browser_pack.py ${browser_dir}/core.wasm
          ${browser_dir}/core.wasm.packed ${BEDWRIGHT_THREE} ${browser_dir}/three.min.js.packed
  DEPENDS ${browser_core} ${BEDWRIGHT_THREE} ${PROJECT_SOURCE_DIR}/scripts/browser_pack.py
  VERBATIM)
list(APPEND browser_files ${browser_dir}/core.js ${browser_packed})
