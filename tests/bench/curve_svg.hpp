#pragma once
// Value over time as a small drawing: a panel a scenario, time on a logarithmic axis.

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <string>
#include <utility>
#include <vector>

namespace bench {

using Curve = std::vector<std::pair<double, std::int64_t>>;  // seconds, weighted seconds

struct CurveLine {
    std::string name, colour;
    Curve points;
};
struct Level {
    std::string name, colour;
    std::int64_t value = 0;
};
struct Panel {
    std::string title;
    std::vector<CurveLine> lines;
    std::vector<Level> levels;
    double seconds = 1.0;  // right end
};

inline std::string curves_svg(const std::vector<Panel>& panels) {
    constexpr int width = 620, height = 230, left = 70, right = 130, top = 34, bottom = 36;
    std::string out;
    char text[512];
    const auto add = [&](const char* format, auto... values) {
        std::snprintf(text, sizeof text, format, values...);
        out += text;
    };
    add("<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 %d %d' font-family='sans-serif' "
        "font-size='12'>\n<rect width='100%%' height='100%%' fill='white'/>\n",
        width, height * static_cast<int>(panels.size()));
    int index = 0;
    for (const Panel& panel : panels) {
        const int y0 = height * index++;
        std::int64_t most = 60;
        for (const Level& l : panel.levels)
            most = std::max(most, l.value);
        for (const CurveLine& l : panel.lines) {
            for (const auto& [s, v] : l.points)
                most = std::max(most, std::min(v, 2 * most));
        }
        const double from = std::log10(0.1), to = std::log10(panel.seconds);
        const auto x = [&](double s) {
            const double share = (std::log10(std::max(0.1, s)) - from) / (to - from);
            return left + share * (width - left - right);
        };
        const auto y = [&](std::int64_t v) {
            const double share = static_cast<double>(std::min(v, most)) / static_cast<double>(most);
            return y0 + height - bottom - share * (height - top - bottom);
        };
        add("<text x='%d' y='%d' font-weight='bold'>%s</text>\n", left, y0 + 18,
            panel.title.c_str());
        for (const double share : {0.0, 0.5, 1.0}) {
            const auto v = static_cast<std::int64_t>(share * static_cast<double>(most));
            add("<text x='%d' y='%.0f' text-anchor='end'>%.0f min</text>\n", left - 6, y(v) + 4,
                static_cast<double>(v) / 60.0);
            add("<line x1='%d' x2='%d' y1='%.1f' y2='%.1f' stroke='#ddd'/>\n", left, width - right,
                y(v), y(v));
        }
        for (const double s : {0.1, 1.0, 10.0, 60.0}) {
            if (s > panel.seconds) continue;
            add("<text x='%.0f' y='%d' text-anchor='middle'>%g s</text>\n", x(s),
                y0 + height - bottom + 18, s);
        }
        std::vector<double> names;  // heights at which names stand already
        const auto name = [&](double at, const std::string& words, const std::string& colour) {
            for (bool moved = true; moved;) {
                moved = false;
                for (const double other : names) {
                    if (std::abs(other - at) >= 13.0) continue;
                    at = other - 13.5;
                    moved = true;
                }
            }
            names.push_back(at);
            add("<text x='%d' y='%.0f' fill='%s'>%s</text>\n", width - right + 6, at + 4,
                colour.c_str(), words.c_str());
        };
        for (const Level& l : panel.levels) {
            add("<line x1='%d' x2='%d' y1='%.1f' y2='%.1f' stroke='%s' stroke-dasharray='5 4'/>\n",
                left, width - right, y(l.value), y(l.value), l.colour.c_str());
            name(y(l.value), l.name, l.colour);
        }
        for (const CurveLine& l : panel.lines) {
            if (l.points.empty()) continue;
            out += "<polyline fill='none' stroke-width='2' stroke='" + l.colour + "' points='";
            double last = y(l.points.front().second);
            for (const auto& [s, v] : l.points) {
                add("%.1f,%.1f %.1f,%.1f ", x(s), last, x(s), y(v));
                last = y(v);
            }
            add("%.1f,%.1f'/>\n", x(panel.seconds), last);
            name(last, l.name, l.colour);
        }
    }
    return out + "</svg>\n";
}

}  // namespace bench
