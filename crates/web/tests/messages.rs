//! What pages say to somebody who slips: wrong fields, nothing changed, a line
//! taken out, a file that is none.
#![allow(clippy::unwrap_used)]

mod common;

use axum::http::StatusCode;
use common::House;

const SMALL: &str = "[book]\nname = \"Mill Creek\"\n\n[line.left]\ntitle = \"Left <crosslay>\"\n\
    parts = [{ hose = \"1.75 in\", length = \"200 ft\" }, { nozzle = \"150 gpm at 50 psi\" }]\n";
const LEFT: &str = "/book/mill-creek/line/left";

async fn newest(house: &House) -> i64 {
    house.workbench.records.newest("mill-creek").await.unwrap()
}

/// Sends a change of the line and gives where it leads.
async fn change(house: &House, base: &str, pairs: &[(&str, &str)]) -> String {
    let pairs: Vec<_> = [("base", base)].iter().chain(pairs).copied().collect();
    let answer = house.post(&format!("{LEFT}/edit"), &pairs).await;
    answer.to().to_string()
}

fn longer(length: &str) -> [(&str, &str); 4] {
    [
        ("do", "put"),
        ("place", "part 1"),
        ("hose", "1.75 in"),
        ("length", length),
    ]
}

fn has(page: &str, words: &[&str]) {
    for words in words {
        assert!(page.contains(words), "{words} is missing from {page}");
    }
}

#[tokio::test]
async fn every_wrong_field_of_a_new_book_has_its_message_at_once() {
    let house = House::with(SMALL).await;
    let wrong = [
        ("name", "Mill Creek"),
        ("units", "us"),
        ("one", "999999 lbf"),
        ("two", "75 psi"),
        ("three", "0"),
        ("ceiling", "99999 psi"),
    ];
    let answer = house.post("/books", &wrong).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    let page = answer.text();
    for field in ["name", "one", "two", "three", "ceiling"] {
        has(&page, &[&format!("id=\"{field}-wrong\"")]);
    }
    has(
        &page,
        &[
            "Free is &quot;Mill Creek 2&quot;",
            "One person: 999999 lbf is not between 1 lbf and 2,000 lbf",
            "Three people: 0 lbf is not between",
            "Highest pump pressure allowed: 99999 psi is not between 1 psi and 600 psi",
        ],
    );
    assert!(!page.contains("Line 4"), "{page}");
    let si = [("name", "B"), ("units", "si"), ("ceiling", "999")];
    let page = house.post("/books", &si).await.text();
    has(&page, &["999 bar is not between 0.1 bar and 41.4 bar"]);
}

#[tokio::test]
async fn a_save_that_changes_nothing_makes_no_revision_and_says_so() {
    let house = House::with(SMALL).await;
    let to = change(&house, "1", &longer("200 ft")).await;
    assert_eq!(to, format!("{LEFT}?told=same"));
    let page = house.get(&to).await.text();
    has(&page, &["Nothing changed, so nothing was saved"]);
    assert!(!page.contains(">Undo<"), "{page}");
    let back = [("base", "1"), ("to", "1")];
    let to = house.post("/book/mill-creek/back", &back).await;
    assert_eq!(to.to(), "/book/mill-creek/history?told=same");
    assert_eq!(newest(&house).await, 1);
    change(&house, "1", &longer("250 ft")).await;
    assert_eq!(newest(&house).await, 2);
}

#[tokio::test]
async fn a_line_is_taken_out_after_a_question_and_comes_back_with_undo() {
    let house = House::with(SMALL).await;
    let page = house.get(&format!("{LEFT}?edit=line")).await.text();
    has(&page, &[&format!("href=\"{LEFT}/take-out\"")]);
    assert!(!page.contains("value=\"delete\""), "{page}");
    let asked = house.get(&format!("{LEFT}/take-out")).await.text();
    let told = [
        "Take out Left &lt;crosslay&gt;?",
        "200 ft of 1.75 in",
        "Take it out",
    ];
    has(&asked, &told);
    let to = change(&house, "1", &[("do", "delete")]).await;
    assert_eq!(to, "/book/mill-creek?told=2");
    let page = house.get(&to).await.text();
    let told = ["Saved as revision 2", "Left &lt;crosslay&gt;", ">Undo<"];
    has(&page, &told);
    let undo = [("base", "2"), ("line", "")];
    let to = house.post("/book/mill-creek/undo", &undo).await;
    assert_eq!(to.to(), "/book/mill-creek?told=undone");
    has(&house.get(to.to()).await.text(), &["Undone", LEFT]);
    // An old address tells nothing that is not so.
    let page = house.get("/book/mill-creek?told=2").await.text();
    assert!(!page.contains("Saved as revision"), "{page}");
    let none = house.get("/book/mill-creek/line/none/take-out").await;
    assert_eq!(none.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_line_at_work_in_a_scene_is_not_offered_to_be_taken_out() {
    let house = House::with(common::DEMO).await;
    let address = format!("/book/{}/line/apartment/take-out", common::DEMO_SLUG);
    let page = house.get(&address).await.text();
    has(&page, &["It cannot be taken out", "mill-street"]);
    assert!(!page.contains("value=\"delete\""), "{page}");
}

#[tokio::test]
async fn undo_on_a_lines_page_stays_there() {
    let house = House::with(SMALL).await;
    let to = change(&house, "1", &longer("250 ft")).await;
    let page = house.get(&to).await.text();
    has(&page, &["name=\"line\" value=\"left\"", ">Undo<"]);
    let undo = [("base", "2"), ("line", "left")];
    let to = house.post("/book/mill-creek/undo", &undo).await;
    assert_eq!(to.to(), format!("{LEFT}?told=undone"));
    has(&house.get(to.to()).await.text(), &["Undone."]);
    // A line that is no more leads to the lines.
    change(&house, "3", &[("do", "copy"), ("to", "spare")]).await;
    let undo = [("base", "4"), ("line", "spare")];
    let to = house.post("/book/mill-creek/undo", &undo).await;
    assert_eq!(to.to(), "/book/mill-creek?told=undone");
}

#[tokio::test]
async fn the_second_of_two_is_shown_the_change_in_trade_words() {
    let house = House::with(SMALL).await;
    change(&house, "1", &longer("250 ft")).await;
    let late: Vec<_> = [("base", "1")]
        .into_iter()
        .chain(longer("300 ft"))
        .collect();
    let answer = house.post(&format!("{LEFT}/edit"), &late).await;
    assert_eq!(answer.status, StatusCode::CONFLICT);
    let page = answer.text();
    let wanted = page.split("What you wanted").nth(1).unwrap();
    has(
        wanted,
        &[
            "Your change of revision 1",
            "200 to 300 ft",
            "Make my change on revision 2",
        ],
    );
    for words in ["place:", "do: ", "part changed"] {
        assert!(!wanted.contains(words), "{words} is in {wanted}");
    }
}

#[tokio::test]
async fn what_is_no_text_is_named_in_plain_words() {
    let house = House::empty().await;
    let picture = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\x10";
    let wide: Vec<u8> = "[book]\n"
        .encode_utf16()
        .flat_map(u16::to_le_bytes)
        .collect();
    for (file, bytes, title, named) in [
        (
            "a.toml",
            &b""[..],
            "There is nothing in it",
            "&quot;a.toml&quot; is empty",
        ),
        (
            "",
            b" \r\n ",
            "There is nothing in it",
            "The pasted text is empty",
        ),
        (
            "hose.png",
            picture,
            "This is not a book&#39;s file",
            "&quot;hose.png&quot; has bytes that are no text",
        ),
        (
            "wide.toml",
            &wide,
            "This is not a book&#39;s file",
            "saved as UTF-8",
        ),
    ] {
        let field = if file.is_empty() { "text" } else { "file" };
        let answer = house.send("/books/import", &[(field, file, bytes)]).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{file}");
        let page = answer.text().replace("book's", "book&#39;s");
        has(&page, &[title, named]);
        assert!(!page.contains("IHDR"), "{page}");
    }
    // A letter of an old code page is still shown at its line.
    let old = [("file", "old.toml", &b"[book]\nname = \"\xcele\"\n"[..])];
    let page = house.send("/books/import", &old).await.text();
    has(&page, &["Line 2, column", "0xCE"]);
}

#[tokio::test]
async fn the_history_says_whose_units_its_words_are_in() {
    let house = House::with(SMALL).await;
    let page = house.get("/book/mill-creek/history?units=si").await.text();
    assert_eq!(page.matches("in the book's units").count(), 1, "{page}");
}

#[tokio::test]
async fn a_card_has_its_worst_notice_in_one_sentence() {
    let house = House::with(common::DEMO).await;
    let page = house.get(&format!("/book/{}", common::DEMO_SLUG)).await;
    let page = page.text();
    assert!(page.contains("class=\"brief "), "{page}");
    assert!(!page.contains("class=\"mend\""), "{page}");
    let briefs = page.split("class=\"brief ").skip(1);
    for brief in briefs.map(|rest| rest.split("</p>").next().unwrap()) {
        assert!(!brief.contains(". "), "{brief}");
    }
}
