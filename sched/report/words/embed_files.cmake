file(GLOB assets ${FOLDER}/*)
list(SORT assets)
set(text "#include \"sched/report/words/web_assets.hpp\"\n\nnamespace sched::report {\n\nstd::string_view web_asset(std::string_view name) {\n")
foreach(asset ${assets})
  get_filename_component(name ${asset} NAME)
  file(READ ${asset} hex HEX)
  # Bytes as numbers: no delimiter and no length limit of string literals to mind.
  string(REGEX REPLACE "([0-9a-f][0-9a-f])" "0x\\1," bytes "${hex}")
  string(MAKE_C_IDENTIFIER ${name} id)
  string(APPEND text "    static constexpr unsigned char ${id}[] = {${bytes}0};\n"
         "    if (name == \"${name}\") return {reinterpret_cast<const char*>(${id}), sizeof(${id}) - 1};\n")
endforeach()
string(APPEND text "    return {};\n}\n\n}  // namespace sched::report\n")
file(WRITE ${OUT} "${text}")
