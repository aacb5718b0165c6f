# The files of web/ become bytes in one generated .cpp (web_assets.hpp).
file(GLOB assets CONFIGURE_DEPENDS ${CMAKE_SOURCE_DIR}/sched/report/web/*)
set(generated ${CMAKE_BINARY_DIR}/generated/web_assets.cpp)
add_custom_command(
  OUTPUT ${generated}
  COMMAND ${CMAKE_COMMAND} -DOUT=${generated} "-DFOLDER=${CMAKE_SOURCE_DIR}/sched/report/web"
          -P ${CMAKE_SOURCE_DIR}/sched/report/embed_files.cmake
  DEPENDS ${assets} ${CMAKE_SOURCE_DIR}/sched/report/embed_files.cmake
  VERBATIM)
target_sources(sched_report PRIVATE ${generated})
