#include "model/begin/questions.hpp"

namespace model::begin {

const std::vector<Question>& questions() {
    static const std::vector<Question> table{
        {"people",
         "Who works in the screen room?",
         "Names with commas. In brackets what somebody does not do, or does alone:\n"
         "Ada, Ben (not coat, expose), Cleo (only carrying)",
         {"Ada, Ben"}},
        {"hours",
         "When do they work?",
         "For all: Mon-Fri 7:00-15:30. Or for each: Ada Mon-Fri 6:00-14:30; Ben Mon-Fri "
         "9:00-17:30\n"
         "Twice a day: Mon-Fri 7:00-11:00, 13:00-17:00",
         {"Mon-Fri 7:00-15:30"}},
        {"breaks",
         "Which breaks?",
         "30 min at 12:00; 15 min between 9:00 and 10:00. For one: Ben 30 min at 13:00. Or: none",
         {"30 min at 12:00"}},
        {"sinks",
         "Where is reclaimed and degreased, where washed out?",
         "A number of the list, or your own: 2 sinks, 1 booth",
         {"1 sink, 1 washout booth", "1 sink for everything", "2 sinks, 1 washout booth"}},
        {"stands",
         "How many coating stands and exposure units?",
         "Also the lamp (led, metal halide, mercury, xenon, fluorescent) and the blanket, if "
         "several\n"
         "screens share an exposure: 2 stands, 1 unit, metal halide, blanket 110 x 140 cm",
         {"1 stand, 1 unit, led"}},
        {"cabinet",
         "How many screens hang in the drying cabinet, and how warm is it?",
         "Also its fresh air, if you know it: 10 screens, 36 °C, 300 m³/h. Or: none, a rack of 20",
         {"10 screens, 36 °C"}},
        {"frames",
         "Which frames do you have, how many, with which mesh?",
         "8 of 58 x 84 cm 77-55; 8 of 120-34 (the same size). A mesh is its count and thread; 77 "
         "or\n"
         "195/in alone will do",
         {"8 of 58 x 84 cm 77-55; 8 of 120-34"}},
        {"emulsion",
         "Which emulsion do you coat?",
         "A number of the list; with a name of your own: dual-cure: blue. Several: photopolymer;\n"
         "dual-cure",
         {"photopolymer", "dual-cure", "diazo"}},
        {"exposure",
         "Which exposure has your step wedge found right, at which lamp distance?",
         "25 s at 110 cm, of 2+2 on 77-55. For each emulsion one, with ; between. \"usual\" until "
         "you\n"
         "have made a wedge",
         {"usual"}},
        {"coats",
         "How is a usual coat done?",
         "Print side + squeegee side, the most usual first: 2+2, 1+1, 2+2 face. With your time:\n"
         "2+2 in 4 min",
         {"2+2, 1+1"}},
    };
    return table;
}

std::string settled(const Question& question, std::string_view said) {
    while (!said.empty() && (said.front() == ' ' || said.front() == '\t'))
        said.remove_prefix(1);
    while (!said.empty() && (said.back() == ' ' || said.back() == '\t' || said.back() == '\r'))
        said.remove_suffix(1);
    if (said.empty()) return std::string(question.answers.front());
    if (question.answers.size() > 1 && said.size() == 1 && said[0] >= '1' &&
        static_cast<std::size_t>(said[0] - '0') <= question.answers.size())
        return std::string(question.answers[static_cast<std::size_t>(said[0] - '1')]);
    return std::string(said);
}

}  // namespace model::begin
