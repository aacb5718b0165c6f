#include "sched/report/words/html.hpp"

#include "sched/report/document/fingerprint.hpp"
#include "sched/report/words/columns.hpp"
#include "sched/report/words/navigation.hpp"
#include "sched/report/words/web_assets.hpp"

namespace sched::report {

std::string html(std::string_view text) {
    std::string out;
    for (const char c : printable(text)) {
        switch (c) {
            case '&':
                out += "&amp;";
                break;
            case '<':
                out += "&lt;";
                break;
            case '>':
                out += "&gt;";
                break;
            case '"':
                out += "&quot;";
                break;
            case '\'':
                out += "&#39;";
                break;
            default:
                out += c;
        }
    }
    return out;
}

std::string json_for_script(std::string_view json) {
    std::string out;
    for (const char c : json) {
        switch (c) {
            case '<':
                out += "\\u003c";
                break;
            case '>':
                out += "\\u003e";
                break;
            case '&':
                out += "\\u0026";
                break;
            default:
                out += c;
        }
    }
    return out;
}

std::string page_head(std::string_view title, std::string_view script, std::string_view more) {
    const std::string_view style = web_asset("style.css");
    std::string policy = "default-src 'none'; base-uri 'none'; ";
    // Of a directive that stands twice browsers take the first.
    if (more.find("form-action") == std::string_view::npos) policy += "form-action 'none'; ";
    policy += "style-src '" + sha256_csp(style) + "'";
    if (!script.empty()) policy += "; script-src '" + sha256_csp(script) + "'";
    if (!more.empty()) policy += "; " + std::string(more);
    std::string out = "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n";
    out += "<meta http-equiv=\"Content-Security-Policy\" content=\"" + policy + "\">\n";
    out += "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n";
    out += "<meta name=\"referrer\" content=\"no-referrer\">\n";
    out +=
        "<title>" + html(title) + "</title>\n<style>" + std::string(style) + "</style>\n</head>\n";
    return out;
}

std::string page_top(const PageTop& top) {
    std::string out = "<header class=\"top\">\n" +
                      (top.links.empty() ? navigation({}, top.own) : top.links) +
                      "\n<div class=\"head\"><div><h1>" + html(top.title) + "</h1>";
    if (!top.under.empty()) out += "\n" + top.under;
    out += "</div>\n<div class=\"acts\">" + top.acts +
           "<button type=\"button\" id=\"light\" aria-pressed=\"false\">Safelight</button>";
    return out + "</div></div>\n</header>\n";
}

std::string page_script(std::string_view own) {
    return std::string(web_asset("light.js")) + std::string(own);
}

std::string section_head(std::string_view id, std::string_view title) {
    const std::string name(id);
    return "<section id=\"" + name + "\" aria-labelledby=\"" + name + "-title\">\n<h2 id=\"" +
           name + "-title\">" + html(title) + "</h2>\n";
}

}  // namespace sched::report
