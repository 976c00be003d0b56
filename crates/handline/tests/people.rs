//! Who can sign in, from the command line.
#![allow(clippy::unwrap_used)]

use serde_json::Value;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

const BOOK: &str = "saltmarsh-bend-fire-and-rescue";
const GOOD: &str = "a lantern under the third stair";

/// A folder of this test's own, with the demo's book in it.
fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    let cards = folder.join("cards.zip");
    let demo = "books/saltmarsh-bend.toml";
    let print = ["paper", demo, "--kind", "line-card", "--keep", "--out"];
    let done = handline(
        &[&print[..], &[cards.to_str().unwrap()]].concat(),
        &folder,
        "",
    );
    assert_eq!(done.0, 0, "{}", done.1);
    folder
}

/// Exit code and what it says, when `typed` comes on standard input.
fn handline(args: &[&str], data: &Path, typed: &str) -> (i32, String) {
    let mut child = Command::new(env!("CARGO_BIN_EXE_handline"))
        .args(args)
        .arg("--data")
        .arg(data)
        .current_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("../.."))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // One that refuses before it reads has shut its input.
    let _ = child.stdin.take().unwrap().write_all(typed.as_bytes());
    let output = child.wait_with_output().unwrap();
    let said = [output.stdout, output.stderr].concat();
    (
        output.status.code().unwrap(),
        String::from_utf8(said).unwrap(),
    )
}

fn list(data: &Path) -> Value {
    let (code, said) = handline(&["people", "list", "--json"], data, "");
    assert_eq!(code, 0, "{said}");
    serde_json::from_str(&said).unwrap()
}

#[test]
fn somebody_is_added_given_a_role_and_removed() {
    let data = folder("people");
    let (code, said) = handline(&["people", "list"], &data, "");
    assert!(code == 0 && said.contains("Nobody"), "{said}");
    let post = ["--role", "keeper", "--department", BOOK];
    let add = [&["people", "add", "Ann Rivers"][..], &post].concat();
    let (code, said) = handline(&add, &data, &format!("{GOOD}\n"));
    assert_eq!(code, 0, "{said}");
    assert!(said.contains("keeper of saltmarsh-bend"), "{said}");
    assert!(
        !said.contains("lantern") && !said.contains("argon"),
        "{said}"
    );
    let (code, _) = handline(&["people", "add", "Bo"], &data, GOOD);
    assert_eq!(code, 0);
    let role = [
        "people",
        "role",
        "Bo",
        "--department",
        BOOK,
        "--role",
        "tester",
    ];
    assert_eq!(handline(&role, &data, "").0, 0);
    let people = &list(&data)["people"];
    assert_eq!(people[0]["name"], "Ann Rivers");
    assert_eq!(people[1]["roles"][0]["role"], "tester");
    assert!(people[1]["signs_in"].as_bool().unwrap());
    // The only keeper stays until there is another.
    let remove = ["people", "remove", "Ann Rivers"];
    let (code, said) = handline(&remove, &data, "");
    assert!(code == 3 && said.contains("only keeper"), "{said}");
    assert!(list(&data)["people"][0]["signs_in"].as_bool().unwrap());
    let role = [
        "people",
        "role",
        "Bo",
        "--department",
        BOOK,
        "--role",
        "keeper",
    ];
    assert_eq!(handline(&role, &data, "").0, 0);
    assert_eq!(handline(&remove, &data, "").0, 0);
    let ann = &list(&data)["people"][0];
    assert_eq!(ann["signs_in"], false);
    assert!(ann["roles"].as_array().unwrap().is_empty());
    let none = ["people", "role", "Bo", "--department", BOOK, "--none"];
    assert_eq!(handline(&none, &data, "").0, 3);
}

#[test]
fn what_is_wrong_about_people_is_told_and_nothing_is_saved() {
    let data = folder("people-refused");
    let add = ["people", "add", "Ann"];
    for (args, typed, code, word) in [
        (&add[..], "short\n", 2, "at least 12"),
        (&add, "", 2, "0 characters"),
        (&add, &"x".repeat(9_000), 2, "128"),
        (
            &["people", "add", "Ann", "--role", "keeper"],
            GOOD,
            2,
            "--department",
        ),
        (
            &[
                "people",
                "add",
                "Ann",
                "--role",
                "chief",
                "--department",
                BOOK,
            ],
            GOOD,
            2,
            "chief",
        ),
        (
            &[
                "people",
                "add",
                "Ann",
                "--role",
                "keeper",
                "--department",
                "nowhere",
            ],
            GOOD,
            3,
            "nowhere",
        ),
        (&["people", "add", "  "], GOOD, 2, "needs a name"),
        (&["people", "remove", "Ann"], "", 3, "Ann"),
        (
            &[
                "people",
                "role",
                "Ann",
                "--department",
                BOOK,
                "--role",
                "reader",
            ],
            "",
            3,
            "Ann",
        ),
    ] {
        let (ended, said) = handline(args, &data, typed);
        assert_eq!(ended, code, "{args:?}: {said}");
        assert!(said.contains(word), "{args:?}: {said}");
    }
    assert_eq!(list(&data)["people"].as_array().unwrap().len(), 0);
    let nowhere = data.join("none");
    assert_eq!(handline(&["people", "list"], &nowhere, "").0, 3);
    assert!(!nowhere.exists());
}
