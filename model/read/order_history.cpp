#include "model/read/order_history.hpp"

#include <map>
#include <utility>

#include "model/read/bytes.hpp"
#include "model/read/cross_check.hpp"

namespace model {

namespace {
constexpr int most_past_screens = 200'000;  // of all days together
}

std::optional<std::vector<std::vector<Order>>> read_order_history(const std::string& path,
                                                                  const Scenario& scenario,
                                                                  Diagnostics& diagnostics) {
    using namespace read;
    const std::size_t errors_before = diagnostics.error_count();
    Findings findings(path, diagnostics);
    const auto text = load(path, csv_most_bytes, Missing::Error, findings);
    if (!text || !check_text(*text, findings)) return std::nullopt;
    Sources sources;
    sources.orders = read_csv_table(*text, findings, order_table());
    Scenario past = scenario;
    past.orders = gather_orders(sources.orders, findings, sources.lines_of, most_past_screens);
    if (past.orders.empty() && findings.count() == 0) {
        findings.error(findings.whole_file(), "no-orders", "there is no order in this file.",
                       "Write one line of screens per line below the first.");
    }
    check_orders(past, sources, findings);
    if (diagnostics.error_count() > errors_before) return std::nullopt;
    std::map<SimTime, std::vector<Order>> days;
    for (Order& order : past.orders) {
        for (ScreenLine& line : order.lines)
            line.kept_stencil = false;
        days[midnight(date_of(order.due))].push_back(std::move(order));
    }
    std::vector<std::vector<Order>> out;
    for (auto& [date, orders] : days)
        out.push_back(std::move(orders));
    return out;
}

}  // namespace model
