//! The format table as documents: `docs/FORMAT.md`, a JSON Schema of `litter.toml` and a
//! Table Schema (Frictionless Data) of the CSV tables.

use serde_json::{Map, Value, json};

use super::format::{FORMAT_VERSION, Key, LITTER_FILE, SECTIONS, Shape, TABLES};
use super::tables::allowed_value;
use super::words::{About, CHECK_KINDS};
use super::{DONE_KINDS, DoneFor, ProductRule};
use crate::book::{AboutPup, KINDS};

/// JSON Schema (draft 2020-12) of `litter.toml` as read into JSON.
#[must_use]
pub fn litter_schema() -> Value {
    let mut properties = Map::new();
    properties.insert("format".into(), json!({ "const": FORMAT_VERSION }));
    let mut required = vec![json!("format")];
    for section in SECTIONS {
        let entry = object(section.keys, section.meaning);
        let schema = if section.repeated { json!({ "type": "array", "items": entry }) } else { entry };
        properties.insert(section.name.into(), schema);
        if section.required {
            required.push(json!(section.name));
        }
    }
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": LITTER_FILE,
        "type": "object",
        "properties": properties,
        "required": required,
        "additionalProperties": false,
    })
}

fn object(keys: &[Key], meaning: &str) -> Value {
    let properties: Map<String, Value> = keys.iter().map(|k| (k.name.to_owned(), json_shape(k))).collect();
    let required: Vec<&str> = keys.iter().filter(|k| k.required).map(|k| k.name).collect();
    json!({
        "type": "object",
        "description": meaning,
        "properties": properties,
        "required": required,
        "additionalProperties": false,
    })
}

fn json_shape(key: &Key) -> Value {
    let mut schema = match key.shape {
        Shape::Text | Shape::Zone => json!({ "type": "string", "minLength": 1, "maxLength": 200 }),
        Shape::Long => json!({ "type": "string", "minLength": 1, "maxLength": 60_000 }),
        Shape::Time => json!({ "type": "string", "format": "date-time" }),
        Shape::YesNo => json!({ "type": "boolean" }),
        Shape::Number { min, max } => json!({ "type": "number", "minimum": min, "maximum": max }),
        Shape::Whole { min, max } => json!({ "type": "integer", "minimum": min, "maximum": max }),
        Shape::Weight => json!({ "type": ["number", "string"] }),
        Shape::OneOf(words) => json!({ "type": "string", "enum": words }),
        Shape::WeekHours => {
            json!({ "type": "array", "items": { "type": "string", "pattern": "^[A-Za-z,-]+ +[0-9]{1,2}:[0-9]{2}-[0-9]{1,2}:[0-9]{2}$" } })
        }
        Shape::ListOf(words) => json!({ "type": "array", "items": { "type": "string", "enum": words } }),
    };
    if !key.meaning.is_empty() {
        schema["description"] = json!(key.meaning);
    }
    schema
}

/// Table Schema of each CSV table, as the resources of a data package.
#[must_use]
pub fn tables_schema() -> Value {
    let resources: Vec<Value> = TABLES
        .iter()
        .map(|table| {
            let fields: Vec<Value> = table.columns.iter().map(field).collect();
            json!({
                "name": table.file.trim_end_matches(".csv"),
                "path": table.file,
                "description": table.meaning,
                "encoding": "utf-8",
                "schema": { "fields": fields, "missingValues": [""] },
            })
        })
        .collect();
    json!({ "name": "litter-folder", "resources": resources })
}

fn field(column: &Key) -> Value {
    let mut constraints = json!({ "required": column.required });
    let kind = match column.shape {
        Shape::Number { min, max } => {
            constraints["minimum"] = json!(min);
            constraints["maximum"] = json!(max);
            "number"
        }
        Shape::OneOf(words) => {
            constraints["enum"] = json!(words);
            "string"
        }
        Shape::Time => "datetime",
        _ => "string",
    };
    let mut field =
        json!({ "name": column.name, "type": kind, "description": column.meaning, "constraints": constraints });
    if column.shape == Shape::Time {
        field["format"] = json!("any");
    }
    field
}

/// The page `docs/FORMAT.md`.
#[must_use]
pub fn format_page() -> String {
    let mut page = String::from(include_str!("format_intro.md"));
    page.push_str("\n## `litter.toml`\n\nThe first line is `format = 1`.\n");
    for section in SECTIONS {
        let title = if section.repeated { format!("[[{}]]", section.name) } else { format!("[{}]", section.name) };
        let times = match (section.repeated, section.required) {
            (true, _) => "any number of times",
            (false, true) => "once",
            (false, false) => "at most once",
        };
        page.push_str(&format!("\n### `{title}`\n\n{} Written {times}.\n\n", section.meaning));
        page.push_str(&key_table("key", section.keys));
    }
    for table in TABLES {
        page.push_str(&format!("\n## `{}`\n\n{}\n\n", table.file, table.meaning));
        page.push_str(&key_table("column", table.columns));
    }
    page.push_str("\n### Kinds of check\n\n| kind | about | value | meaning |\n|---|---|---|---|\n");
    for kind in CHECK_KINDS {
        let about = match kind.about {
            About::Pup => "a pup",
            About::Litter => "dam, box or litter (pup left empty)",
        };
        page.push_str(&format!("| `{}` | {about} | {} | {} |\n", kind.word, allowed_value(kind), kind.meaning));
    }
    page.push_str(&done_kinds());
    page.push_str(&book_kinds());
    page.push_str("\n## Breeds with published birth-weight limits\n\nWritten exactly so (capitals do not matter):\n");
    let breeds: Vec<&str> = crate::assess::BREED_BANDS.iter().map(|b| b.0).collect();
    page.push_str(&format!(
        "{}.\nAny other breed is accepted, and is told that no threshold is published for it.\n",
        breeds.join(", ")
    ));
    page
}

fn done_kinds() -> String {
    let mut page = String::from(
        "\n### Kinds of `done.csv`\n\n| kind | about | value | product, lot, as_given | meaning |\n|---|---|---|---|---|\n",
    );
    for kind in DONE_KINDS {
        let about = match kind.about {
            DoneFor::Pup => "a pup",
            DoneFor::PupOrDam => "a pup, or the dam (pup left empty)",
        };
        let product = match kind.product {
            ProductRule::Must => "product must be there",
            ProductRule::May => "if you like",
            ProductRule::Never => "",
        };
        let value = kind.shape.allowed();
        page.push_str(&format!("| `{}` | {about} | {value} | {product} | {} |\n", kind.word, kind.meaning));
    }
    page
}

/// What a folder cannot carry.
fn book_kinds() -> String {
    let mut page = String::from(include_str!("book_intro.md"));
    for row in KINDS.iter().filter(|r| r.home.is_none()) {
        let about = match row.about_pup {
            AboutPup::Always => " About one pup.",
            AboutPup::Sometimes => " About one pup, or the dam or litter.",
            AboutPup::Never => "",
        };
        page.push_str(&format!("\n### `{}`\n\n{}{about}\n\n{}", row.word, row.meaning, key_table("key", row.keys)));
    }
    page
}

fn key_table(name: &str, keys: &[Key]) -> String {
    let mut table = format!("| {name} | must be there | allowed | meaning |\n|---|---|---|---|\n");
    for key in keys {
        let must = if key.required { "yes" } else { "" };
        table.push_str(&format!("| `{}` | {must} | {} | {} |\n", key.name, key.shape.allowed(), key.meaning));
    }
    table
}
