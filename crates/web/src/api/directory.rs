//! The questions listed for people, from their description.

use super::DESCRIPTION;
use crate::reader::Reader;
use crate::shell::{self, Place};
use crate::workbench::Workbench;
use axum::extract::State;
use maud::{Markup, html};
use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, utf8_percent_encode};
use serde_json::Value;
use std::sync::Arc;

const KEPT: &AsciiSet = &NON_ALPHANUMERIC
    .remove(b'-')
    .remove(b'.')
    .remove(b'_')
    .remove(b'~');

/// The demo's name in addresses, of which the worked examples are.
const DEMO: &str = "saltmarsh-bend-fire-and-rescue";

pub(super) async fn page(State(workbench): State<Arc<Workbench>>, reader: Reader) -> Markup {
    let may = reader.who.is(records::Role::Reader, DEMO);
    let demo = may && workbench.records.newest(DEMO).await.is_ok();
    shell::page(
        "For programs",
        &reader,
        &Place::default(),
        &content(&DESCRIPTION, demo),
    )
}

/// The page's content, from an OpenAPI description; its examples lead somewhere where
/// the demo is in the records.
fn content(description: &Value, demo: bool) -> Markup {
    html! {
        h1 { "For programs" }
        p { (text(&description["info"]["description"])) }
        p {
            "All of this for a machine: "
            a href="/api/openapi.json" { "/api/openapi.json" }
            " (OpenAPI). A question that gets no answer gets the reason as problem details (RFC 9457)."
        }
        @for (path, method, question) in questions(description) {
            (one(path, method, question, demo))
        }
    }
}

fn one(path: &str, method: &str, question: &Value, demo: bool) -> Markup {
    let parameters = question["parameters"].as_array();
    let parameters = parameters.map_or(&[][..], Vec::as_slice);
    let id = text(&question["operationId"]);
    let heading = text(&question["summary"]);
    html! {
        section aria-labelledby=(id) {
            h2 id=(id) { (heading) }
            p { code { (method.to_uppercase()) " " (path) } }
            @if let Some(more) = question["description"].as_str() { p { (more) } }
            @if !parameters.is_empty() {
                div.wide tabindex="0" role="region" aria-label=(format!("{heading}: what can be asked")) {
                    table {
                        thead { tr {
                            th scope="col" { "Name" }
                            th scope="col" { "What it is" }
                            th scope="col" { "Where" }
                        } }
                        tbody { @for parameter in parameters { (row(parameter)) } }
                    }
                }
            }
            p { "For example " (example(path, method, question, parameters, demo)) }
        }
    }
}

fn row(parameter: &Value) -> Markup {
    let place = match (text(&parameter["in"]), &parameter["required"]) {
        ("path", _) => "in the address",
        (_, Value::Bool(true)) => "after the address, needed",
        _ if is_list(parameter) => "after the address, as often as you like",
        _ => "after the address",
    };
    let words = words_of(parameter);
    html! {
        tr {
            th scope="row" { (text(&parameter["name"])) }
            td {
                (text(&parameter["description"]))
                @if !words.is_empty() { ": " (words.join(", ")) }
            }
            td { (place) }
        }
    }
}

fn is_list(parameter: &Value) -> bool {
    match &parameter["schema"]["type"] {
        Value::Array(kinds) => kinds.iter().any(|kind| kind == "array"),
        kind => kind == "array",
    }
}

/// The words that a parameter may be, where there are only some.
fn words_of(parameter: &Value) -> Vec<&str> {
    let schema = &parameter["schema"];
    let one_of = schema["oneOf"].as_array().into_iter().flatten();
    let lists = std::iter::once(schema).chain(one_of);
    let words = lists
        .filter_map(|schema| schema["enum"].as_array())
        .flatten();
    words.filter_map(Value::as_str).collect()
}

fn example(path: &str, method: &str, question: &Value, parameters: &[Value], demo: bool) -> Markup {
    let address = address(path, parameters);
    let body = &question["requestBody"]["content"];
    let body = body.as_object().and_then(|kinds| kinds.iter().next());
    html! {
        @if method == "get" && !address.contains('{') && (demo || !address.contains(DEMO)) {
            a href=(address) { code { (address) } }
        } @else {
            code { (method.to_uppercase()) " " (address) }
            @if let Some((kind, content)) = body {
                " with this as " code { (kind) } ":"
                pre tabindex="0" role="region" aria-label=(format!("{}: what is sent", text(&question["summary"]))) { (text(&content["example"])) }
            }
        }
    }
}

/// The address of a worked example: the parameters that have one, filled in.
fn address(path: &str, parameters: &[Value]) -> String {
    let mut address = path.to_string();
    let mut asked = Vec::new();
    for parameter in parameters {
        let name = text(&parameter["name"]);
        let value = match &parameter["example"] {
            Value::Array(list) => list.first().map_or("", text),
            value => text(value),
        };
        if value.is_empty() {
            continue;
        }
        let value = utf8_percent_encode(value, KEPT).to_string();
        match parameter["in"] == "path" {
            true => address = address.replace(&format!("{{{name}}}"), &value),
            false => asked.push(format!("{name}={value}")),
        }
    }
    match asked.is_empty() {
        true => address,
        false => format!("{address}?{}", asked.join("&")),
    }
}

/// Every question: its path, its method, what is said of it.
fn questions(description: &Value) -> Vec<(&str, &str, &Value)> {
    let paths = description["paths"].as_object();
    let paths = paths.into_iter().flatten();
    paths
        .flat_map(|(path, methods)| {
            let methods = methods.as_object().into_iter().flatten();
            methods.map(move |(method, question)| (path.as_str(), method.as_str(), question))
        })
        .collect()
}

fn text(value: &Value) -> &str {
    value.as_str().unwrap_or("")
}
