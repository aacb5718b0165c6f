// Units against their definitions: the inch is 2.54 cm, the foot 30.48 cm (international yard and
// pound agreement of 1959), 0 °C = 32 °F with 5/9 K a degree (NIST SP 811, appendix B).

#include "model/base/units.hpp"

#include "tests/catch.hpp"

using namespace model;

TEST_CASE("time spans are read exactly in whole seconds", "[units]") {
    CHECK(parse_duration("45 min").value == Seconds{2700});
    CHECK(parse_duration("2 h 30 min").value == Seconds{9000});
    CHECK(parse_duration("2h30min").value == Seconds{9000});
    CHECK(parse_duration(" 1.5 h ").value == Seconds{5400});
    CHECK(parse_duration("90 s").value == Seconds{90});
    CHECK(parse_duration("4 weeks").value == Seconds{4 * 7 * 86400});
    CHECK(parse_duration("1 day 2 h").value == Seconds{26 * 3600});
    CHECK(parse_duration("0 s").value == Seconds{0});
    CHECK(parse_duration("45\xC2\xA0min").value == Seconds{2700});  // no-break space
}

TEST_CASE("time spans that are none are refused with the reason", "[units]") {
    CHECK(parse_duration("45").problem.find("no unit") != std::string::npos);
    CHECK(parse_duration("45 mins").problem.find("\"mins\"") != std::string::npos);
    CHECK(parse_duration("30 min 2 h").problem.find("out of order") != std::string::npos);
    CHECK(parse_duration("2 h 3 h").problem.find("out of order") != std::string::npos);
    CHECK(parse_duration("0.33 s").problem.find("whole number of seconds") != std::string::npos);
    CHECK(parse_duration("-5 min").problem.find("negative") != std::string::npos);
    CHECK(parse_duration("010 min").problem.find("begins with a 0") != std::string::npos);
    CHECK(parse_duration("1,5 h").problem.find("comma") != std::string::npos);
    CHECK(parse_duration("1e3 s").problem.find("\"e\"") != std::string::npos);
    CHECK(parse_duration("999999999999 weeks").problem.find("hundred years") != std::string::npos);
    CHECK_FALSE(parse_duration("").value);
    CHECK_FALSE(parse_duration("soon").value);
}

TEST_CASE("inch and metric frame sizes meet exactly", "[units]") {
    CHECK(parse_size("58 x 84 cm").value == Area{Centimetres{58}, Centimetres{84}});
    CHECK(parse_size("580 x 840 mm").value == Area{Centimetres{58}, Centimetres{84}});
    CHECK(parse_size("58x84cm").value == parse_size("58 × 84 cm").value);
    CHECK(parse_size("58 cm x 84 cm").value == parse_size("58 x 84 cm").value);
    // 23 in = 58.42 cm, 33 in = 83.82 cm
    CHECK(parse_size("23 x 33 in").value == parse_size("58.42 x 83.82 cm").value);
    // Said as it was written, and read back as the same size: 1 in = 2.54 cm, 1/16 in = 0.0625 in.
    CHECK(format_size(*parse_size("23 x 33 in").value) == "23 x 33 in");
    CHECK(format_size(*parse_size("23.3125 x 20.75 inches").value) == "23.3125 x 20.75 in");
    CHECK(format_size(*parse_size("580 x 840 mm").value) == "58 x 84 cm");
    for (const char* size : {"23.3125 x 20.75 in", "18.1 x 7.3 in", "58.42 x 83.82 cm"}) {
        const auto read = *parse_size(size).value;
        CHECK(parse_size(format_size(read)).value == read);
    }
    CHECK(parse_size("16.54 x 23.39 in").value == parse_size("42.0116 x 59.4106 cm").value);
    CHECK(parse_size("58 cm x 84 in").problem.find("different units") != std::string::npos);
    CHECK(parse_size("58 cm").problem.find("one side") != std::string::npos);
    CHECK(parse_size("58 x 84").problem.find("no unit") != std::string::npos);
    CHECK(parse_size("0 x 84 cm").problem.find("not above 0") != std::string::npos);
    CHECK(parse_size("58 x 84000 cm").problem.find("10 m") != std::string::npos);
}

TEST_CASE("temperatures convert by the definition of the Fahrenheit scale", "[units]") {
    CHECK(parse_temperature("38 °C").value == Celsius{38});
    CHECK(parse_temperature("104 °F").value == Celsius{40});
    CHECK(parse_temperature("32 °F").value == Celsius{0});
    CHECK(parse_temperature("-40 °F").value == Celsius{-40});
    CHECK(parse_temperature("100 °F").value->value == Approx(37.7777777778));
    CHECK_FALSE(parse_temperature("38").value);
    CHECK_FALSE(parse_temperature("38 K").value);
}

TEST_CASE("mesh counts and rulings per inch and per centimetre", "[units]") {
    CHECK(parse_threads("90 /cm").value == ThreadsPerCm{90});
    CHECK(parse_threads("254 /in").value == ThreadsPerCm{100});
    CHECK(parse_threads("230 threads/inch").value->value == Approx(90.5511811));
    CHECK(parse_ruling("127 lpi").value == LinesPerCm{50});
    CHECK_FALSE(parse_ruling("133").value);
}

TEST_CASE("the other units of a room", "[units]") {
    CHECK(parse_micrometres("40 µm").value == Micrometres{40});  // U+00B5
    CHECK(parse_micrometres("40 μm").value == Micrometres{40});  // U+03BC
    CHECK(parse_micrometres("0.04 mm").value->value == Approx(40));
    CHECK(parse_centimetres("40 in").value == Centimetres{101.6});
    CHECK(parse_percent("12 %").value == Fraction{0.12});
    CHECK(parse_percent("12%").value == Fraction{0.12});
    CHECK(parse_air_flow("900 m³/h").value == parse_air_flow("900 m3/h").value);
    CHECK(parse_air_flow("100 cfm").value->value == Approx(169.901082));  // 0.3048³ · 60 · 100
    CHECK(parse_speed("1.5 m/s").value == MetresPerSecond{1.5});
    CHECK(parse_speed("300 ft/min").value->value == Approx(1.524));
    CHECK(parse_power("3 kW").value == Watts{3000});
    CHECK(parse_volume("1 l").value == parse_volume("1000 ml").value);
    CHECK(parse_density("1.05 kg/l").value == 1050.0);
    CHECK(parse_pressure("1013.25 hPa").value == Pascals{101325});
    CHECK_FALSE(parse_percent("0.12").value);
}

TEST_CASE("altitude gives the pressure of the standard atmosphere", "[units]") {
    // ASHRAE Handbook Fundamentals 2017, chapter 1, table 1 (values from memory): 0 m 101.325 kPa,
    // 500 m 95.461 kPa, 1000 m 89.875 kPa, 2000 m 79.495 kPa.
    CHECK(parse_altitude("0 m").value->value == Approx(101325));
    CHECK(parse_altitude("500 m").value->value == Approx(95461).epsilon(1e-4));
    CHECK(parse_altitude("1000 m").value->value == Approx(89875).epsilon(1e-4));
    CHECK(parse_altitude("2000 m").value->value == Approx(79495).epsilon(1e-4));
    CHECK(parse_altitude("1000 ft").value->value == Approx(parse_altitude("304.8 m").value->value));
    CHECK_FALSE(parse_altitude("9000 m").value);
}

TEST_CASE("numbers that look like others are refused", "[units]") {
    for (const char* text : {"1e999", "nan", "inf", "0x10", "010", "+5", "5.", ".5", "1 000", "--1",
                             "1234567890123456", "٣", ""}) {
        INFO(text);
        CHECK_FALSE(parse_number(text).value);
    }
    CHECK(parse_number("0").value == 0.0);
    CHECK(parse_number("-2.50").value == -2.5);
    CHECK_FALSE(parse_count("2.5").value);
    CHECK_FALSE(parse_count("-1").value);
    CHECK(parse_count("12").value == 12);
}
