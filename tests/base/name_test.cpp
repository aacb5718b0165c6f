// What is a name. The code points and what they are: Unicode 14.0, UnicodeData.txt (names, general
// category), PropList.txt (White_Space), DerivedCoreProperties.txt (Default_Ignorable_Code_Point).

#include "model/base/name.hpp"

#include "tests/catch.hpp"

using model::name_problem;

TEST_CASE("a name is what can be seen", "[name]") {
    for (const char* name :
         {"A1", "#12", " A1 ", "-", "\xC3\x84hre",
          "Acme\xC2\xA0"
          "Ltd",
          "\xE6\x97\xA5\xE6\x9C\xAC",      // U+65E5 U+672C
          "\xD8\xA7\xE2\x80\x8C\xD8\xA8",  // a zero width non-joiner between letters
          "\xE2\x9D\xA4\xEF\xB8\x8F"}) {   // U+2764 and a variation selector
        INFO(name);
        CHECK(name_problem(name).empty());
    }
    CHECK(name_problem("") == "is empty");
    for (const char* blank : {" ", "   ",
                              "\xC2\xA0",                  // U+00A0 no-break space
                              " \xC2\xA0 \xC2\xAD",        // and U+00AD soft hyphen
                              "\xCD\x8F",                  // U+034F combining grapheme joiner
                              "\xE1\x85\x9F",              // U+115F hangul choseong filler
                              "\xE1\x9A\x80",              // U+1680 ogham space mark
                              "\xE2\x80\x83",              // U+2003 em space
                              "\xE2\x80\x8B\xE2\x80\x8B",  // U+200B zero width space
                              "\xE2\x80\x8E",              // U+200E left-to-right mark
                              "\xE2\x81\xA0",              // U+2060 word joiner
                              "\xE2\xA0\x80",              // U+2800 braille pattern blank
                              "\xE3\x80\x80",              // U+3000 ideographic space
                              "\xE3\x85\xA4",              // U+3164 hangul filler
                              "\xEF\xB8\x8F",              // U+FE0F variation selector-16
                              "\xEF\xBB\xBF",              // U+FEFF zero width no-break space
                              "\xEF\xBE\xA0",              // U+FFA0 halfwidth hangul filler
                              "\xF3\xA0\x80\xA0"}) {       // U+E0020 tag space
        INFO(blank);
        CHECK(name_problem(blank) == "is blank: nothing of it can be seen");
    }
}

TEST_CASE("a name holds nothing that steers what shows it", "[name]") {
    for (const char* steers : {"A\tB", "A\nB", "A\x1B[2J", "A\x7F",
                               "A\xC2\x85",  // U+0085 next line
                               "A\xC2\x9B"
                               "2J",  // U+009B control sequence introducer
                               "A\xE2\x80\xA8"
                               "B",  // U+2028 line separator
                               "A\xE2\x80\xAE"
                               "fdp",  // U+202E right-to-left override
                               "\xE2\x81\xA6"
                               "A"}) {  // U+2066 left-to-right isolate
        INFO(steers);
        CHECK(name_problem(steers) == "holds a line break, tab or control character");
    }
    CHECK(name_problem(std::string("A\0B", 3)) == "holds a line break, tab or control character");
    CHECK(name_problem(std::string(120, 'x')).empty());
    CHECK(name_problem(std::string(121, 'x')) == "is longer than 120 bytes");
    // Not UTF-8 (the readers refuse it before): no read past the end.
    CHECK(name_problem("\xE2\x80").size() + name_problem("\xF0").size() < 200);
}
