# The files of web/, and the glossary of the docs, become bytes in one generated .cpp (web_assets.hpp).
file(GLOB assets CONFIGURE_DEPENDS ${CMAKE_SOURCE_DIR}/sched/report/words/web/*)
list(APPEND assets ${CMAKE_SOURCE_DIR}/docs/glossary.md)
set(generated ${CMAKE_BINARY_DIR}/generated/web_assets.cpp)
add_custom_command(
  OUTPUT ${generated}
  COMMAND ${CMAKE_COMMAND} -DOUT=${generated} "-DFOLDER=${CMAKE_SOURCE_DIR}/sched/report/words/web"
          "-DMORE=${CMAKE_SOURCE_DIR}/docs/glossary.md"
          -P ${CMAKE_SOURCE_DIR}/sched/report/words/embed_files.cmake
  DEPENDS ${assets} ${CMAKE_SOURCE_DIR}/sched/report/words/embed_files.cmake
  VERBATIM)
target_sources(sched_report_words PRIVATE ${generated})
