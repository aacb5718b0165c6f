# The files of web/ become bytes in one generated .cpp (web_assets.hpp).
file(GLOB assets CONFIGURE_DEPENDS ${CMAKE_SOURCE_DIR}/sched/report/words/web/*)
set(generated ${CMAKE_BINARY_DIR}/generated/web_assets.cpp)
add_custom_command(
  OUTPUT ${generated}
  COMMAND ${CMAKE_COMMAND} -DOUT=${generated} "-DFOLDER=${CMAKE_SOURCE_DIR}/sched/report/words/web"
          -P ${CMAKE_SOURCE_DIR}/sched/report/words/embed_files.cmake
  DEPENDS ${assets} ${CMAKE_SOURCE_DIR}/sched/report/words/embed_files.cmake
  VERBATIM)
target_sources(sched_report_words PRIVATE ${generated})
