# The program as scripts and other people's tools meet it.
if(TARGET coatroom)
  add_test(NAME "app: shards by GNU parallel"
           COMMAND bash ${CMAKE_SOURCE_DIR}/tests/app/size_shards.sh ${CMAKE_SOURCE_DIR} $<TARGET_FILE:coatroom>)
  set_tests_properties("app: shards by GNU parallel" PROPERTIES SKIP_RETURN_CODE 77 TIMEOUT 300)
  add_test(NAME "app: planned again while the day runs"
           COMMAND /usr/bin/python3 ${CMAKE_SOURCE_DIR}/tests/app/again_test.py ${CMAKE_SOURCE_DIR}
                   $<TARGET_FILE:coatroom>)
  set_tests_properties("app: planned again while the day runs" PROPERTIES TIMEOUT 300)
  add_test(NAME "app: a cabinet fails, and the day goes on"
           COMMAND /usr/bin/python3 ${CMAKE_SOURCE_DIR}/tests/app/failed_cabinet_test.py ${CMAKE_SOURCE_DIR}
                   $<TARGET_FILE:coatroom>)
  set_tests_properties("app: a cabinet fails, and the day goes on" PROPERTIES TIMEOUT 300)
  add_test(NAME "app: interrupted at any moment"
           COMMAND /usr/bin/python3 ${CMAKE_SOURCE_DIR}/tests/app/interrupt_test.py ${CMAKE_SOURCE_DIR}
                   $<TARGET_FILE:coatroom> --moments 2)
  set_tests_properties("app: interrupted at any moment" PROPERTIES TIMEOUT 300)
  add_test(NAME "app: the same room written otherwise"
           COMMAND /usr/bin/python3 ${CMAKE_SOURCE_DIR}/tests/app/same_room_test.py ${CMAKE_SOURCE_DIR}
                   $<TARGET_FILE:coatroom>)
  add_test(NAME "app: twice as much takes no four times as long"
           COMMAND /usr/bin/python3 ${CMAKE_SOURCE_DIR}/tests/app/doubling_test.py ${CMAKE_SOURCE_DIR}
                   $<TARGET_FILE:coatroom>)
  set_tests_properties("app: the same room written otherwise" "app: twice as much takes no four times as long"
                       PROPERTIES TIMEOUT 300)
  add_test(NAME "app: lead times are those of weeks"
           COMMAND /usr/bin/python3 ${CMAKE_SOURCE_DIR}/tests/app/lead_times_test.py ${CMAKE_SOURCE_DIR}
                   $<TARGET_FILE:coatroom>)
  add_test(NAME "app: first plans of two shifts"
           COMMAND /usr/bin/python3 ${CMAKE_SOURCE_DIR}/tests/app/two_shifts_test.py ${CMAKE_SOURCE_DIR}
                   $<TARGET_FILE:coatroom>)
  add_test(NAME "app: spoilt files are read or refused"
           COMMAND /usr/bin/python3 ${CMAKE_SOURCE_DIR}/tests/app/mutated_test.py ${CMAKE_SOURCE_DIR}
                   $<TARGET_FILE:coatroom>)
  set_tests_properties("app: spoilt files are read or refused" PROPERTIES TIMEOUT 300)
  add_test(NAME "app: faults while files are written"
           COMMAND /usr/bin/python3 ${CMAKE_SOURCE_DIR}/tests/app/faults_test.py ${CMAKE_SOURCE_DIR}
                   $<TARGET_FILE:coatroom>)
  set_tests_properties("app: faults while files are written" PROPERTIES TIMEOUT 300)
  add_test(NAME "app: marks are kept, killed at any moment"
           COMMAND /usr/bin/python3 ${CMAKE_SOURCE_DIR}/tests/app/journal_test.py ${CMAKE_SOURCE_DIR}
                   $<TARGET_FILE:coatroom>)
  add_test(NAME "app: planned again from the journal"
           COMMAND /usr/bin/python3 ${CMAKE_SOURCE_DIR}/tests/app/journal_plan_test.py ${CMAKE_SOURCE_DIR}
                   $<TARGET_FILE:coatroom>)
  add_test(NAME "app: pots and frames as they are marked"
           COMMAND /usr/bin/python3 ${CMAKE_SOURCE_DIR}/tests/app/pots_test.py $<TARGET_FILE:coatroom>)
  set_tests_properties("app: pots and frames as they are marked" PROPERTIES TIMEOUT 300)
  add_test(NAME "app: marks are forgotten, and there is a plan"
           COMMAND /usr/bin/python3 ${CMAKE_SOURCE_DIR}/tests/app/patchy_test.py ${CMAKE_SOURCE_DIR}
                   $<TARGET_FILE:coatroom>)
  set_tests_properties("app: marks are kept, killed at any moment" "app: planned again from the journal"
                       "app: marks are forgotten, and there is a plan" PROPERTIES TIMEOUT 900)
  add_test(NAME "app: all pages in a browser"
           COMMAND /usr/bin/python3 ${CMAKE_SOURCE_DIR}/tests/app/pages_test.py ${CMAKE_SOURCE_DIR}
                   $<TARGET_FILE:coatroom>)
  set_tests_properties("app: all pages in a browser" PROPERTIES TIMEOUT 600 SKIP_RETURN_CODE 77)
  add_test(NAME "report: what is written has its schema"
           COMMAND /usr/bin/python3 ${CMAKE_SOURCE_DIR}/tests/report/written_schema_test.py ${CMAKE_SOURCE_DIR}
                   $<TARGET_FILE:coatroom>)
  set_tests_properties("report: what is written has its schema" PROPERTIES TIMEOUT 300)
  add_test(NAME "report: size study from outside"
           COMMAND /usr/bin/python3 ${CMAKE_SOURCE_DIR}/tests/report/size_schema_test.py ${CMAKE_SOURCE_DIR}
                   $<TARGET_FILE:coatroom>)
  set_tests_properties("report: size study from outside" PROPERTIES TIMEOUT 300)
endif()
