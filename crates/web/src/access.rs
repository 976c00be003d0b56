//! Who may do what: every address of the workbench, once. What is not listed here is
//! refused to everybody who is not at their own computer, and a test holds the list
//! against the sources.

use records::Role;

/// What an address takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Needs {
    /// Nothing: it shows nothing of a department, or its address holds a secret.
    Nothing,
    /// Somebody who is signed in; what is shown depends on who it is.
    SignedIn,
    /// This role, or one that may more, in the department that the path names.
    Role(Role),
    /// A keeper of any department: who makes a book becomes its keeper.
    KeeperOfAny,
}

/// An address, and what it takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Access {
    /// "GET", "POST", or "ANY". What may be asked with GET may be asked with HEAD.
    pub method: &'static str,
    /// As it is given to the router. The department is `{slug}` or `{book}`.
    pub path: &'static str,
    /// What it takes.
    pub needs: Needs,
}

const fn asked(method: &'static str, path: &'static str, needs: Needs) -> Access {
    Access {
        method,
        path,
        needs,
    }
}

const fn get(path: &'static str, needs: Needs) -> Access {
    asked("GET", path, needs)
}

const fn post(path: &'static str, needs: Needs) -> Access {
    asked("POST", path, needs)
}

const fn any(path: &'static str, needs: Needs) -> Access {
    asked("ANY", path, needs)
}

use Needs::{KeeperOfAny, Nothing, SignedIn};
const READER: Needs = Needs::Role(Role::Reader);
const TESTER: Needs = Needs::Role(Role::Tester);
const EDITOR: Needs = Needs::Role(Role::Editor);
const KEEPER: Needs = Needs::Role(Role::Keeper);

/// Every address, by subject.
pub const ACCESS: &[Access] = &[
    // Style, script and mark; cautions; units and light.
    get("/assets/handline.css", Nothing),
    get("/assets/handline.js", Nothing),
    get("/assets/mark.svg", Nothing),
    get("/cautions", Nothing),
    post("/settings", Nothing),
    // Signing in and out, and links that hold a secret.
    get("/sign-in", Nothing),
    post("/sign-in", Nothing),
    post("/sign-out", Nothing),
    get("/new-password/{token}", Nothing),
    post("/new-password/{token}", Nothing),
    get("/sheet/{token}", Nothing),
    get("/sheet/{token}/page/{number}", Nothing),
    get("/sheet/{token}/pdf", Nothing),
    get("/account", SignedIn),
    get("/account/password", SignedIn),
    post("/account/password", SignedIn),
    get("/account/elsewhere", SignedIn),
    post("/account/elsewhere", SignedIn),
    // Books.
    get("/", SignedIn),
    get("/books", SignedIn),
    post("/books", KeeperOfAny),
    get("/books/new", KeeperOfAny),
    get("/books/import", KeeperOfAny),
    post("/books/import", KeeperOfAny),
    get("/book/{slug}", READER),
    get("/book/{slug}/file", READER),
    post("/book/{slug}/file", EDITOR),
    get("/book/{slug}/file/download", READER),
    get("/book/{slug}/history", READER),
    get("/book/{slug}/history/{number}", READER),
    get("/book/{slug}/undo", READER),
    post("/book/{slug}/undo", EDITOR),
    get("/book/{slug}/redo", READER),
    post("/book/{slug}/redo", EDITOR),
    get("/book/{slug}/back", READER),
    post("/book/{slug}/back", EDITOR),
    get("/book/{slug}/newest", READER),
    // People.
    get("/book/{slug}/people", KEEPER),
    post("/book/{slug}/people", KEEPER),
    get("/book/{slug}/people/role", KEEPER),
    post("/book/{slug}/people/role", KEEPER),
    get("/book/{slug}/people/password", KEEPER),
    post("/book/{slug}/people/password", KEEPER),
    get("/book/{slug}/trail", EDITOR),
    get("/book/{slug}/links", EDITOR),
    post("/book/{slug}/links", EDITOR),
    get("/book/{slug}/links/{id}/withdraw", EDITOR),
    post("/book/{slug}/links/{id}/withdraw", EDITOR),
    // Lines.
    get("/book/{book}/line/{line}", READER),
    get("/book/{book}/line/{line}/edit", READER),
    post("/book/{book}/line/{line}/edit", EDITOR),
    get("/book/{book}/line/{line}/take-out", EDITOR),
    get("/book/{book}/new-line", EDITOR),
    post("/book/{book}/new-line", EDITOR),
    // Scenes.
    get("/book/{slug}/scenes", READER),
    get("/book/{slug}/new-scene", EDITOR),
    post("/book/{slug}/new-scene", EDITOR),
    get("/book/{slug}/scene/{scene}", READER),
    get("/book/{slug}/scene/{scene}/edit", READER),
    post("/book/{slug}/scene/{scene}/edit", EDITOR),
    // Comparisons: who reads may ask and try; to keep one takes an editor.
    get("/book/{slug}/comparisons", READER),
    post("/book/{slug}/comparisons", EDITOR),
    get("/book/{slug}/comparisons/new", READER),
    get("/book/{slug}/comparison", READER),
    get("/book/{slug}/comparison/progress", READER),
    get("/book/{slug}/comparison/file", READER),
    get("/book/{slug}/comparison/download", READER),
    get("/book/{slug}/comparison/tables/{form}", READER),
    get("/book/{slug}/comparison/report", READER),
    post("/book/{slug}/comparison/report", EDITOR),
    get("/book/{slug}/comparison/withdraw", READER),
    post("/book/{slug}/comparison/withdraw", EDITOR),
    get("/book/{slug}/comparison/bring-back", READER),
    post("/book/{slug}/comparison/bring-back", EDITOR),
    // Equipment.
    get("/book/{slug}/equipment", READER),
    get("/book/{slug}/equipment/{kind}/{name}", READER),
    get("/book/{slug}/equipment/{kind}/{name}/edit", EDITOR),
    post("/book/{slug}/equipment/{kind}/{name}/edit", EDITOR),
    get("/book/{slug}/new/{kind}", EDITOR),
    post("/book/{slug}/new/{kind}", EDITOR),
    // Paper. To print is to enter in the register; a proof is only looked at.
    get("/book/{slug}/paper", READER),
    post("/book/{slug}/paper", EDITOR),
    get("/book/{slug}/paper/address", READER),
    post("/book/{slug}/paper/address", READER),
    get("/book/{slug}/paper/{kind}/{subject}", READER),
    post("/book/{slug}/paper/{kind}/{subject}", EDITOR),
    get("/book/{slug}/paper/{kind}/{subject}/page/{number}", READER),
    get("/book/{slug}/paper/{kind}/{subject}/pdf", READER),
    get("/book/{slug}/issued", READER),
    get("/book/{slug}/issued/reprint", READER),
    post("/book/{slug}/issued/reprint", EDITOR),
    get("/book/{slug}/issued/{id}/withdraw", READER),
    post("/book/{slug}/issued/{id}/withdraw", EDITOR),
    get("/paper", SignedIn),
    // Shown to who may read the department that the sheet is of.
    get("/paper/{code}", SignedIn),
    // Tables.
    get("/book/{slug}/tables/{form}", READER),
    get("/book/{slug}/line/{line}/tables/{form}", READER),
    get("/book/{slug}/scene/{scene}/tables/{form}", READER),
    get("/book/{slug}/equipment/tables/{form}", READER),
    get("/book/{slug}/equipment/{kind}/{name}/tables/{form}", READER),
    // Flow tests: planned and taken by testers, put into the book by editors.
    get("/assets/take.js", Nothing),
    get("/book/{slug}/tests", READER),
    get("/book/{slug}/tests/new", READER),
    post("/book/{slug}/tests/new", TESTER),
    get("/book/{slug}/tests/plan", READER),
    get("/book/{slug}/tests/bring", TESTER),
    post("/book/{slug}/tests/bring", TESTER),
    get("/book/{slug}/tests/day/{date}", READER),
    get("/book/{slug}/test/{id}", READER),
    get("/book/{slug}/test/{id}/read", READER),
    post("/book/{slug}/test/{id}/read", TESTER),
    get("/book/{slug}/test/{id}/close", READER),
    post("/book/{slug}/test/{id}/close", TESTER),
    get("/book/{slug}/test/{id}/open", READER),
    post("/book/{slug}/test/{id}/open", TESTER),
    get("/book/{slug}/test/{id}/result", READER),
    get("/book/{slug}/test/{id}/report", READER),
    post("/book/{slug}/test/{id}/report", EDITOR),
    get("/book/{slug}/test/{id}/accept", READER),
    post("/book/{slug}/test/{id}/accept", EDITOR),
    // The inventory by serial number.
    get("/book/{slug}/inventory", READER),
    get("/book/{slug}/inventory/new", TESTER),
    post("/book/{slug}/inventory/new", TESTER),
    get("/book/{slug}/inventory/bring", EDITOR),
    post("/book/{slug}/inventory/bring", EDITOR),
    get("/book/{slug}/inventory/due", READER),
    get("/book/{slug}/inventory/due.ics", READER),
    get("/book/{slug}/inventory/tables/{form}", READER),
    get("/book/{slug}/piece/{serial}", READER),
    get("/book/{slug}/piece/{serial}/tested", READER),
    post("/book/{slug}/piece/{serial}/tested", TESTER),
    get("/book/{slug}/piece/{serial}/retire", READER),
    post("/book/{slug}/piece/{serial}/retire", EDITOR),
    // For programs.
    get("/api", SignedIn),
    get("/api/openapi.json", SignedIn),
    any("/api/{*rest}", SignedIn),
    post("/api/check", SignedIn),
    // Shown to who may read the department that the sheet is of.
    get("/api/codes/{code}", SignedIn),
    get("/api/books", SignedIn),
    get("/api/books/{book}", READER),
    get("/api/books/{book}/file", READER),
    get("/api/books/{book}/lines/{line}", READER),
    get("/api/books/{book}/lines/{line}/chart", READER),
    get("/api/books/{book}/lines/{line}/extend", READER),
    get("/api/books/{book}/scenes/{scene}", READER),
    get("/api/books/{book}/comparisons", READER),
    get("/api/books/{book}/comparisons/{comparison}", READER),
    post("/api/books/{book}/compare", READER),
    get("/api/books/{book}/tests", READER),
    get("/api/books/{book}/tests/{test}", READER),
    get("/api/books/{book}/tests/{test}/result", READER),
    get("/api/books/{book}/sheets", READER),
    get("/api/books/{book}/sheets/{kind}/{subject}", READER),
    get("/api/books/{book}/issued", READER),
];

/// What a path takes when it is asked with `method`, and the department that it names, as
/// it stands there; `None`: it is not listed, and nobody may.
///
/// The path is found as the router finds it: step by step, and a step that is written out
/// goes before one that is left open.
pub(crate) fn of_path<'a>(method: &str, path: &'a str) -> Option<(Needs, &'a str)> {
    let method = if method == "HEAD" { "GET" } else { method };
    let steps: Vec<&str> = path.split('/').collect();
    let fitting = ACCESS.iter().filter(|access| fits(access.path, &steps));
    let path = fitting.min_by_key(|access| open(access.path))?.path;
    let mut own = ACCESS.iter().filter(|access| access.path == path);
    let access = own.find(|access| access.method == method || access.method == "ANY")?;
    let named = path.split('/').zip(steps);
    let slug = named.filter_map(|(step, name)| matches!(step, "{slug}" | "{book}").then_some(name));
    Some((access.needs, slug.last().unwrap_or_default()))
}

/// The same for an address as it stands in a page.
pub(crate) fn of_link<'a>(method: &str, address: &'a str) -> Option<(Needs, &'a str)> {
    let address = address.split('#').next().unwrap_or(address);
    let (path, question) = address.split_once('?').unwrap_or((address, ""));
    let (needs, slug) = of_path(method, path)?;
    // Asked so, a page has the form open that changes it.
    let opens_a_form = question.split('&').any(|pair| pair.starts_with("edit="));
    let needs = match opens_a_form {
        true if needs == READER => EDITOR,
        _ => needs,
    };
    Some((needs, slug))
}

/// Which steps are left open; the one that takes all the rest comes last of all.
fn open(pattern: &str) -> Vec<u8> {
    let how = |step: &str| match step {
        step if step.starts_with("{*") => 2,
        step => u8::from(step.starts_with('{')),
    };
    pattern.split('/').map(how).collect()
}

fn fits(pattern: &str, steps: &[&str]) -> bool {
    let pattern: Vec<&str> = pattern.split('/').collect();
    let rest = pattern.last().is_some_and(|last| last.starts_with("{*"));
    let same = |(pattern, step): (&&str, &&str)| pattern.starts_with('{') || pattern == step;
    let length = match rest {
        true => steps.len() >= pattern.len(),
        false => steps.len() == pattern.len(),
    };
    length && pattern.iter().zip(steps).all(same)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_is_listed_once_and_what_is_not_listed_is_refused() {
        for (index, one) in ACCESS.iter().enumerate() {
            let (_, rest) = ACCESS.split_at(index + 1);
            let again = |other: &&Access| (other.method, other.path) == (one.method, one.path);
            assert!(!rest.iter().any(|other| again(&other)), "{one:?}");
        }
        assert_eq!(of_path("GET", "/nowhere"), None);
        assert_eq!(of_path("DELETE", "/book/bend"), None);
        assert_eq!(of_path("HEAD", "/book/bend"), Some((READER, "bend")));
        // What is written out goes first, whatever it is asked with.
        assert_eq!(of_path("DELETE", "/api/books/bend"), None);
        assert_eq!(of_path("PUT", "/api/x/y/z"), Some((SignedIn, "")));
    }

    /// The list itself can be wrong: this much is so whatever it says.
    #[test]
    fn nothing_of_a_department_is_open_and_who_reads_changes_nothing() {
        // These keep something in the reader's own browser, or nothing at all.
        const OWN: [&str; 2] = ["/book/{slug}/paper/address", "/api/books/{book}/compare"];
        for access in ACCESS {
            let of_one = access.path.contains("{slug}") || access.path.contains("{book}");
            let Needs::Role(role) = access.needs else {
                assert!(!of_one, "{access:?}");
                continue;
            };
            assert!(of_one, "{access:?}");
            let looks = access.method == "GET" || OWN.contains(&access.path);
            assert!(looks || role > Role::Reader, "{access:?}");
            let of_people = access.path.contains("/people");
            assert!(!of_people || role == Role::Keeper, "{access:?}");
        }
    }

    #[test]
    fn a_link_takes_what_its_page_takes() {
        let line = "/book/bend/line/left?edit=part%201#edit";
        assert_eq!(of_link("GET", line), Some((EDITOR, "bend")));
        let line = "/book/bend/line/left#parts";
        assert_eq!(of_link("GET", line), Some((READER, "bend")));
        let undo = of_link("POST", "/book/bend/undo");
        assert_eq!(undo, Some((EDITOR, "bend")));
        assert_eq!(of_link("GET", "/cautions"), Some((Nothing, "")));
        assert_eq!(of_link("GET", "/nowhere"), None);
        let tables = of_link("GET", "/book/bend/equipment/tables/csv?units=us");
        assert_eq!(tables, Some((READER, "bend")));
    }
}
