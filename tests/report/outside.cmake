# Checks of the golden files by libraries and programs that are not ours. test.sh installs them:
# python3-jsonschema, python3-icalendar, python3-selenium, python3-pil, chromium, chromium-driver.
# Missing ones make the tests fail; only the browser's may be skipped (77), where test.sh says that
# the distribution has none.
foreach(check schema calendar browser)
  add_test(NAME "report: ${check} from outside"
           COMMAND /usr/bin/python3 ${CMAKE_SOURCE_DIR}/tests/report/${check}_test.py ${CMAKE_SOURCE_DIR})
endforeach()
set_tests_properties("report: browser from outside" PROPERTIES TIMEOUT 120 SKIP_RETURN_CODE 77)
