//! The rules of the house that a compiler does not keep: which crate may
//! import which, that the pure crates touch nothing outside themselves, and
//! that a fire-service vehicle is called a rig.

use std::path::{Path, PathBuf};
use std::{fs, io};

use proc_macro2::{Delimiter, Spacing, TokenStream, TokenTree};
use quote::ToTokens;
use syn::{Attribute, Item};

/// Each crate may import the ones before it, and no other of the workspace.
const ORDER: [&str; 10] = [
    "hydraulics",
    "lay",
    "book",
    "study",
    "picture",
    "paper",
    "records",
    "web",
    "handline",
    "checks",
];

/// These touch no files, environment, network, clock or other programs.
const PURE: [&str; 6] = ["hydraulics", "lay", "book", "study", "picture", "paper"];

/// The parts of the standard library that the pure crates do without.
const OUTSIDE: [&str; 5] = ["fs", "env", "net", "time", "process"];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// What is wrong with `crate_name` importing `imported`, if anything.
fn arrow_fault(crate_name: &str, imported: &str) -> Option<String> {
    let place = |name: &str| ORDER.iter().position(|listed| *listed == name);
    match (place(crate_name), place(imported)) {
        (Some(from), Some(to)) if to < from => None,
        (Some(_), Some(_)) => Some(format!(
            "{crate_name} imports {imported}, but imports point one way: {}",
            ORDER.join(" <- ")
        )),
        _ => Some(format!(
            "{crate_name} imports {imported}: give both a place in ORDER"
        )),
    }
}

#[test]
fn house_imports_point_one_way() {
    let metadata = cargo_metadata::MetadataCommand::new()
        .manifest_path(root().join("Cargo.toml"))
        .no_deps()
        .exec()
        .expect("cargo metadata runs");
    let names: Vec<String> = metadata
        .packages
        .iter()
        .map(|package| package.name.to_string())
        .collect();

    let mut faults = Vec::new();
    let mut arrows = 0;
    for package in &metadata.packages {
        if !ORDER.contains(&package.name.as_str()) {
            faults.push(format!("{} has no place in ORDER", package.name));
        }
        for dependency in &package.dependencies {
            if names.contains(&dependency.name) {
                arrows += 1;
                faults.extend(arrow_fault(&package.name, &dependency.name));
            }
        }
    }
    assert!(arrows > 0, "no arrow was seen, so nothing was checked");
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn house_a_wrong_arrow_is_seen() {
    assert!(arrow_fault("lay", "hydraulics").is_none());
    assert!(arrow_fault("lay", "book").is_some());
    assert!(arrow_fault("study", "study").is_some());
    assert!(arrow_fault("pictures", "study").is_some());
}

#[test]
fn house_pure_crates_touch_nothing_outside() {
    let mut faults = Vec::new();
    for name in PURE {
        let source = root().join("crates").join(name).join("src");
        scan_module(&source.join("lib.rs"), &source, &mut faults);
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// Scans one source file and the modules it declares, whose files lie in
/// `folder`, leaving out what is compiled for tests only.
fn scan_module(file: &Path, folder: &Path, faults: &mut Vec<String>) {
    let parsed = fs::read_to_string(file)
        .map_err(|error| error.to_string())
        .and_then(|text| syn::parse_file(&text).map_err(|error| error.to_string()));
    let parsed = match parsed {
        Ok(parsed) => parsed,
        Err(error) => return faults.push(format!("{}: {error}", file.display())),
    };
    let items = without_tests(parsed.items);
    for found in outside_uses(items_tokens(&items)) {
        faults.push(format!("{} uses {found}", file.display()));
    }
    for module in declared_modules(&items) {
        let flat = folder.join(format!("{module}.rs"));
        let nested = folder.join(&module);
        let child = if flat.exists() {
            flat
        } else {
            nested.join("mod.rs")
        };
        scan_module(&child, &nested, faults);
    }
}

fn declared_modules(items: &[Item]) -> Vec<String> {
    items
        .iter()
        .filter_map(|item| match item {
            Item::Mod(module) if module.content.is_none() => Some(module.ident.to_string()),
            _ => None,
        })
        .collect()
}

fn items_tokens(items: &[Item]) -> TokenStream {
    items.iter().map(ToTokens::to_token_stream).collect()
}

fn without_tests(items: Vec<Item>) -> Vec<Item> {
    items
        .into_iter()
        .filter(|item| !is_test_only(attributes(item)))
        .map(|item| match item {
            Item::Mod(mut module) => {
                module.content = module
                    .content
                    .map(|(brace, inner)| (brace, without_tests(inner)));
                Item::Mod(module)
            }
            other => other,
        })
        .collect()
}

fn attributes(item: &Item) -> &[Attribute] {
    match item {
        Item::Mod(module) => &module.attrs,
        Item::Fn(function) => &function.attrs,
        Item::Use(import) => &import.attrs,
        Item::Impl(block) => &block.attrs,
        Item::Const(constant) => &constant.attrs,
        _ => &[],
    }
}

fn is_test_only(attributes: &[Attribute]) -> bool {
    attributes.iter().any(|attribute| {
        attribute.path().is_ident("cfg")
            && attribute
                .parse_args::<syn::Path>()
                .is_ok_and(|condition| condition.is_ident("test"))
    })
}

/// Every `std::fs` and its like among the tokens, those inside macros too.
/// A glob or a new name for `std` itself would hide them, so it counts as well.
fn outside_uses(tokens: TokenStream) -> Vec<String> {
    let tokens: Vec<TokenTree> = tokens.into_iter().collect();
    let mut found = Vec::new();
    for (index, token) in tokens.iter().enumerate() {
        match token {
            TokenTree::Group(group) => found.extend(outside_uses(group.stream())),
            TokenTree::Ident(name) if *name == "std" => {
                found.extend(after_std(tokens.get(index + 1..).unwrap_or_default()));
            }
            _ => {}
        }
    }
    found
}

fn after_std(rest: &[TokenTree]) -> Vec<String> {
    match rest {
        [TokenTree::Ident(word), ..] if *word == "as" => vec!["std under another name".to_string()],
        [TokenTree::Punct(first), TokenTree::Punct(_), next, ..]
            if first.as_char() == ':' && first.spacing() == Spacing::Joint =>
        {
            match next {
                TokenTree::Group(group) if group.delimiter() == Delimiter::Brace => {
                    list_heads(group.stream())
                        .iter()
                        .filter_map(outside_name)
                        .collect()
                }
                other => outside_name(other).into_iter().collect(),
            }
        }
        _ => Vec::new(),
    }
}

/// The first token of each entry of `{fs, io::Read, ...}`.
fn list_heads(list: TokenStream) -> Vec<TokenTree> {
    let mut heads = Vec::new();
    let mut at_head = true;
    for token in list {
        let comma = matches!(&token, TokenTree::Punct(mark) if mark.as_char() == ',');
        if at_head && !comma {
            heads.push(token);
        }
        at_head = comma;
    }
    heads
}

fn outside_name(token: &TokenTree) -> Option<String> {
    match token {
        TokenTree::Ident(name) if OUTSIDE.iter().any(|outside| name == outside) => {
            Some(format!("std::{name}"))
        }
        TokenTree::Ident(name) if *name == "self" => Some("std under its own name".to_string()),
        TokenTree::Punct(mark) if mark.as_char() == '*' => Some("std::*".to_string()),
        _ => None,
    }
}

#[test]
fn house_outside_uses_are_seen() {
    let seen = |text: &str| {
        let parsed = syn::parse_file(text).expect("the sample parses");
        outside_uses(items_tokens(&without_tests(parsed.items)))
    };
    for text in [
        "use std::fs;",
        "use std::{collections::BTreeMap, net::TcpStream};",
        "use ::std::time::Instant;",
        "use std as other;",
        "use std::*;",
        "fn f() { let _ = std::env::args(); }",
        "fn f() { println!(\"{}\", std::process::id()); }",
        "mod inner { #[cfg(not(test))] use std::fs; }",
    ] {
        assert_eq!(seen(text).len(), 1, "{text}");
    }
    for text in [
        "use std::{collections::BTreeMap, fmt};",
        "/// `std::fs` is not used.\nfn f() {}",
        "#[cfg(test)] mod tests { use std::fs; }",
        "mod inner { #[cfg(test)] mod tests { use std::{env, fs}; } }",
        "fn fs() { let time = 1.0; }",
    ] {
        assert!(seen(text).is_empty(), "{text}: {:?}", seen(text));
    }
}

/// Whether the trade's other word for a rig stands in `text`, alone or as part
/// of a name.
fn says_engine(text: &str) -> bool {
    let mut words = vec![String::new()];
    let mut lower_before = false;
    for letter in text.chars() {
        if !letter.is_alphabetic() || (letter.is_uppercase() && lower_before) {
            words.push(String::new());
        }
        if let (true, Some(word)) = (letter.is_alphabetic(), words.last_mut()) {
            word.extend(letter.to_lowercase());
        }
        lower_before = letter.is_lowercase();
    }
    words
        .iter()
        .any(|word| word == "engine" || word == "engines")
}

fn rust_files(folder: &Path, files: &mut Vec<PathBuf>) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            rust_files(&path, files)?;
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            files.push(path);
        }
    }
    Ok(())
}

#[test]
fn house_a_rig_is_called_a_rig() {
    let mut files = Vec::new();
    for folder in ["crates", "checks", "fuzz/src", "fuzz/fuzz_targets"] {
        let before = files.len();
        rust_files(&root().join(folder), &mut files).expect("the folder can be listed");
        assert!(files.len() > before, "no source file was found in {folder}");
    }
    // This file names the word that it looks for.
    files.retain(|file| !file.ends_with("checks/tests/house.rs"));
    let mut faults = Vec::new();
    for file in files {
        let text = fs::read_to_string(&file).expect("a source file can be read");
        for (index, line) in text.lines().enumerate() {
            if says_engine(line) {
                faults.push(format!("{}:{}: {line}", file.display(), index + 1));
            }
        }
    }
    assert!(faults.is_empty(), "say rig:\n{}", faults.join("\n"));
}

#[test]
fn house_the_other_word_is_seen() {
    for text in [
        "the engine",
        "Engines",
        "engine_pressure",
        "EngineRating",
        "fireEngine",
    ] {
        assert!(says_engine(text), "{text}");
    }
    for text in ["the rig", "engineer", "engineering"] {
        assert!(!says_engine(text), "{text}");
    }
}
