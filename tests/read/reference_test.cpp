// docs/room.schema.json and the tables of docs/input.md are written from the reader's tables; here
// they are held against them byte for byte. To renew both: run coatroom-docs (tests/bench).

#include <fstream>
#include <nlohmann/json.hpp>
#include <set>
#include <sstream>

#include "model/read/order_file.hpp"
#include "model/read/reference.hpp"
#include "model/read/room_file.hpp"
#include "model/read/room_tables.hpp"
#include "tests/catch.hpp"

namespace {

using namespace model;
using namespace model::read;

const std::string docs = std::string(COATROOM_SOURCE) + "/docs/";

std::string file_text(const std::string& path) {
    std::ifstream in(path, std::ios::binary);
    std::stringstream out;
    out << in.rdbuf();
    return out.str();
}

// Reads one key with one text and returns what was found wrong.
template <class T>
std::vector<Diagnostic> read_key(const Row<T>& row, const std::string& text, T& out) {
    Diagnostics diagnostics;
    Findings findings("test", diagnostics);
    YamlNode node;
    if (row.spec.kind == Kind::Text) {
        node.kind = YamlNode::Kind::Text;
        node.text = text;
    } else {
        node = parse_yaml(text, findings).value();
    }
    row.read(findings, row.spec, node, out);
    return diagnostics.all();
}

template <class T>
void check_rows(const Table<T>& table) {
    for (const Row<T>& row : table) {
        INFO(row.spec.key);
        CHECK_FALSE(row.spec.help.empty());
        if (!row.spec.example.empty()) {
            T value{};
            const auto found = read_key(row, row.spec.example, value);
            CHECK(found.empty());
        }
        if (!row.spec.fallback.empty()) {
            // The default that the table promises is the default that the value has.
            T value{};
            CHECK(read_key(row, row.spec.fallback, value).empty());
            CHECK(value == T{});
        }
        for (const std::string& limit : {row.spec.least, row.spec.most}) {
            if (limit.empty()) continue;
            T value{};
            CHECK(read_key(row, limit, value).empty());
        }
    }
}

void keys_of_schema(const nlohmann::json& root, const nlohmann::json& schema,
                    const std::string& path, std::set<std::string>& out) {
    if (schema.contains("$ref")) {  // "#/definitions/...": a pointer into the same file
        const auto pointer = schema["$ref"].get<std::string>().substr(1);
        return keys_of_schema(root, root.at(nlohmann::json::json_pointer(pointer)), path, out);
    }
    for (const char* inside : {"items", "additionalProperties"}) {
        if (schema.contains(inside) && schema[inside].is_object()) {
            keys_of_schema(root, schema[inside], path, out);
        }
    }
    if (schema.contains("anyOf")) {
        for (const auto& way : schema["anyOf"])
            keys_of_schema(root, way, path, out);
    }
    if (!schema.contains("properties")) return;
    for (const auto& [key, value] : schema["properties"].items()) {
        out.insert(path + "/" + key);
        keys_of_schema(root, value, path + "/" + key, out);
    }
}

void keys_of_specs(const std::vector<KeySpec>& specs, const std::string& path,
                   std::set<std::string>& out) {
    for (const KeySpec& spec : specs) {
        out.insert(path + "/" + spec.key);
        keys_of_specs(spec.inner, path + "/" + spec.key, out);
    }
}

}  // namespace

TEST_CASE("the schema file is what the reader's tables say", "[read][schema]") {
    CHECK(file_text(docs + "room.schema.json") == room_schema());
}

TEST_CASE("every key of the reader is a key of the schema, and the other way round",
          "[read][schema]") {
    std::set<std::string> in_schema;
    std::set<std::string> in_reader;
    const auto schema = nlohmann::json::parse(file_text(docs + "room.schema.json"));
    keys_of_schema(schema, schema, "", in_schema);
    keys_of_specs(specs_of(room_table()), "", in_reader);
    CHECK(in_schema == in_reader);
    CHECK(in_reader.size() > 100);
}

TEST_CASE("the tables of docs/input.md are current, and none is left out", "[read][docs]") {
    const std::string text = file_text(docs + "input.md");
    CHECK(renew_tables(text) == text);
    for (const std::string& name : reference_names()) {
        INFO(name);
        CHECK_FALSE(reference_table(name).empty());
        // The keys of a named day are those of the air.
        if (name == "climate/named days") continue;
        CHECK(text.find("<!-- table: " + name + " -->") != std::string::npos);
    }
}

TEST_CASE("every example, limit and default of the tables is read as promised", "[read][spec]") {
    check_rows(room_table());
    check_rows(station_table());
    check_rows(cabinet_air_table());
    check_rows(lamp_table());
    check_rows(person_table());
    check_rows(mesh_table());
    check_rows(emulsion_table());
    check_rows(exposure_table());
    check_rows(pot_table());
    check_rows(coat_plan_table());
    check_rows(air_table());
    check_rows(climate_table());
    check_rows(limits_table());
    check_rows(drying_table());
    check_rows(order_table());
    check_rows(frame_table());
    check_rows(weather_table());
    check_rows(step_time_table());
}
