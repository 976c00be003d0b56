//! JSON Schema of a book, so that an editor can complete and check it. Made from
//! the same list of keys that the reader uses.

use crate::keys::{self, Key, Range, Shape};
use crate::model::{Colour, MARK_LIMIT, MONEY_LIMIT};
use hydraulics::units::{Kind, System};
use serde_json::{Map, Value, json};

/// The schema of a book's file (JSON Schema, draft 7, which editors of TOML
/// know).
///
/// ```
/// let schema = book::schema();
/// assert_eq!(schema["properties"]["hose"]["type"], "object");
/// ```
pub fn schema() -> Value {
    let about = "Everything known about one department: equipment, rigs, lines and aims.";
    of_file("Handline book", about, keys::FILE, definitions())
}

/// The schema of a file with `keys`.
pub(crate) fn of_file(title: &str, about: &str, keys: &[Key], definitions: Value) -> Value {
    let mut schema = json!({
        "$schema": "http://json-schema.org/draft-07/schema#",
        "title": title,
        "description": about,
    });
    if let (Some(into), Value::Object(rest)) = (schema.as_object_mut(), table(keys)) {
        into.extend(rest);
        into.insert("definitions".into(), definitions);
    }
    schema
}

/// How quantities of these kinds are written.
pub(crate) fn quantities(kinds: &[Kind]) -> Value {
    let all = kinds.iter().map(|kind| (definition(*kind), written(*kind)));
    Value::Object(all.collect())
}

fn definitions() -> Value {
    let parts: Vec<Value> = keys::PARTS.iter().map(|keys| table(keys)).collect();
    let mut all = Map::new();
    let rows = json!({
        "part": {
            "description": "One piece of equipment in its place, or rows side by side.",
            "oneOf": parts,
        },
        "row": {
            "description": "Parts one after the other.",
            "type": "array",
            "minItems": 1,
            "items": { "$ref": "#/definitions/part" },
        },
    });
    if let Value::Object(rows) = rows {
        all.extend(rows);
    }
    all.extend(KINDS.map(|kind| (definition(kind), written(kind))));
    Value::Object(all)
}

/// The name of the definition of `kind`: no spaces, for it stands in a reference.
fn definition(kind: Kind) -> String {
    kind.name().replace(' ', "_")
}

/// The kinds of quantity that a book holds.
const KINDS: [Kind; 11] = [
    Kind::Pressure,
    Kind::Flow,
    Kind::Length,
    Kind::Size,
    Kind::Force,
    Kind::Volume,
    Kind::Temperature,
    Kind::Share,
    Kind::Time,
    Kind::Area,
    Kind::AreaRate,
];

/// A text of a number and a unit of `kind`.
fn written(kind: Kind) -> Value {
    let units = kind.units().iter().flat_map(|unit| unit.names());
    let units: Vec<String> = units.filter(|n| !n.is_empty()).map(any_case).collect();
    let units = units.join("|");
    json!({
        "type": "string",
        "pattern": format!(r"^\s*[-+]?[0-9.][-0-9 .,_/+eE]*\s*({units})?\s*$"),
    })
}

fn table(keys: &[Key]) -> Value {
    let mut properties = Map::new();
    for key in keys {
        let mut value = shape(&key.shape);
        if let Some(map) = value.as_object_mut() {
            let more = map.get("description").and_then(Value::as_str);
            let text = match more {
                Some(more) => format!("{} {more}", key.help),
                None => key.help.to_string(),
            };
            map.insert("description".into(), text.into());
        }
        properties.insert(key.name.into(), value);
    }
    let needed: Vec<&str> = keys.iter().filter(|k| k.needed).map(|k| k.name).collect();
    json!({
        "type": "object",
        "properties": properties,
        "required": needed,
        "additionalProperties": false,
    })
}

fn shape(shape: &Shape) -> Value {
    match shape {
        Shape::Text => json!({ "type": "string" }),
        Shape::Name => json!({ "type": ["string", "number"] }),
        Shape::Flag => json!({ "type": "boolean" }),
        Shape::Date => json!({ "type": "string", "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$" }),
        Shape::Word(words) => json!({ "enum": words }),
        Shape::Quantity(range) => quantity(range),
        Shape::Either(ranges) => {
            let all: Vec<Value> = ranges.iter().map(|range| quantity(range)).collect();
            json!({ "anyOf": all })
        }
        Shape::Coefficient => json!({
            "anyOf": [
                { "type": "number", "exclusiveMinimum": 0 },
                { "type": "string", "pattern": "^\\s*[0-9.]+(\\s+([uU][sS]|[mM][eE][tT][rR][iI][cC]))?\\s*$" },
            ],
            "examples": [15.5, "15.5 us", "24.6 metric"],
        }),
        Shape::Weight => json!({
            "type": "string",
            "pattern": "^.+ per .+$",
            "examples": ["16 lb per 50 ft", "10 kg per 20 m"],
        }),
        Shape::Price => json!({
            "type": "string",
            "pattern": "^\\s*[0-9.]+ per .+$",
            "examples": ["320 per 50 ft", "300 per 20 m"],
        }),
        Shape::Money => json!({
            "type": "string",
            "pattern": "^[^\\s0-9]([^0-9]*[^\\s0-9])?$",
            "maxLength": MONEY_LIMIT,
        }),
        Shape::Coupling => json!({
            "type": "string",
            "pattern": "^.*[0-9].*\\s([nN][hH]|[nN][pP][sS][hH]|[bB][sS][pP]|[sS][yY][mM][mM][eE][tT][rR][iI][cC][aA][lL])(\\s+([mM]|[fF][eE][mM])[aA][lL][eE])?\\s*$",
            "examples": ["1.5 in NH", "2.5 in NH female", "65 mm symmetrical"],
        }),
        Shape::Colour => json!({ "anyOf": [
            { "enum": Colour::words().collect::<Vec<_>>() },
            { "type": "string", "pattern": "^#[0-9a-fA-F]{6}$" },
        ] }),
        Shape::Mark => json!({
            "type": "string",
            "pattern": "^\\S(.*\\S)?$",
            "maxLength": MARK_LIMIT,
        }),
        Shape::Pair(inner) => json!({
            "type": "array",
            "items": self::shape(inner),
            "minItems": 2,
            "maxItems": 2,
        }),
        Shape::Several(inner) => {
            let one = self::shape(inner);
            json!({ "anyOf": [one, { "type": "array", "items": one }] })
        }
        Shape::Listed(inner) => {
            let one = self::shape(inner);
            json!({ "anyOf": [
                { "type": "array", "items": one, "minItems": 1 },
                { "type": "object", "additionalProperties": one, "minProperties": 1 },
            ] })
        }
        Shape::Table(keys) => table(keys),
        Shape::Tables(keys) => json!({ "type": "array", "items": table(keys) }),
        Shape::Named(keys) => json!({ "type": "object", "additionalProperties": table(keys) }),
        Shape::Any(all) => {
            let all: Vec<Value> = all.iter().map(self::shape).collect();
            json!({ "anyOf": all })
        }
        // Nothing may stand beside "$ref", and a description will.
        Shape::Parts => json!({ "allOf": [{ "$ref": "#/definitions/row" }] }),
        Shape::Rows => json!({
            "type": "array",
            "minItems": 1,
            "items": { "$ref": "#/definitions/row" },
        }),
    }
}

/// A number, or a text of a number and a unit of its kind.
fn quantity(range: &Range) -> Value {
    if range.plain {
        let number = if range.whole { "integer" } else { "number" };
        return json!({ "anyOf": [
            { "type": number, "minimum": range.low, "maximum": range.high },
            { "$ref": format!("#/definitions/{}", definition(range.kind)) },
        ] });
    }
    let both = |system| range.text(system);
    let (us, si) = (both(System::Us), both(System::Si));
    let accepted = if us == si { us } else { format!("{us} ({si})") };
    let examples = [System::Us, System::Si].map(|system| range.kind.example(system));
    let mut examples = examples.to_vec();
    examples.dedup();
    let number = match range.kind {
        Kind::Share => json!({ "type": "number", "minimum": range.low, "maximum": range.high }),
        _ => json!({ "type": "number" }),
    };
    json!({
        "description": format!("Accepted: {accepted}."),
        "anyOf": [{ "$ref": format!("#/definitions/{}", definition(range.kind)) }, number],
        "examples": examples,
    })
}

/// A pattern for `text` in capitals or not, for units are read either way.
fn any_case(text: &str) -> String {
    let one = |c: char| match (c.to_ascii_lowercase(), c.to_ascii_uppercase()) {
        (low, high) if low != high => format!("[{low}{high}]"),
        _ if c.is_alphanumeric() || matches!(c, ' ' | '%' | '\'' | '"' | '°' | '³') => {
            c.to_string()
        }
        _ => format!("\\{c}"),
    };
    text.chars().map(one).collect()
}
