# Sources put into few translation units (scripts/groups.py), which compile from nothing in less than half the time.
# Sets VAR to the units, COUNT of them, written into FOLDER when the build runs.
function(group_sources var folder count)
  set(groups "")
  math(EXPR last "${count} - 1")
  foreach(i RANGE ${last})
    if(i LESS 10)
      set(i 0${i})
    endif()
    list(APPEND groups ${folder}/group-${i}.cpp)
  endforeach()
  add_custom_command(
    OUTPUT ${groups}
    COMMAND Python3::Interpreter ${PROJECT_SOURCE_DIR}/scripts/groups.py ${PROJECT_SOURCE_DIR}/src ${folder} ${count} ${ARGN}
    DEPENDS ${ARGN} ${library_headers} ${PROJECT_SOURCE_DIR}/scripts/groups.py
    VERBATIM)
  set(${var} ${groups} PARENT_SCOPE)
endfunction()
