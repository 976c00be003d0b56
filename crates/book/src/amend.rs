//! From a changed book to the text of its file, with what did not change left as
//! it was written.

mod list;

use crate::model::Book;
use crate::reader::read;
use crate::writer::write;
use toml_edit::{DocumentMut, InlineTable, Item, RawString, Table, TableLike, Value};

/// The text of a file that held `before` and is to hold `after`: only what
/// differs is written anew. Comments, order, spacing and the words of everything
/// else stay as they were. Reading it gives `after`.
///
/// Comments inside a part that is taken out go with it. A text that does not hold
/// `before`, or that cannot be amended, gives [`crate::write`] of `after`.
///
/// ```
/// use book::{amend, edit, read, Edit};
/// let text = "# Ours\n[book]\nname = 'Example'\n";
/// let before = read(text.as_bytes(), "example.toml")?;
/// let mut after = before.clone();
/// after.about.note = Some("Read me".into());
/// let amended = amend(text, &before, &after);
/// assert_eq!(amended, "# Ours\n[book]\nname = 'Example'\nnote = \"Read me\"\n");
/// # Ok::<(), book::Problems>(())
/// ```
pub fn amend(text: &str, before: &Book, after: &Book) -> String {
    let holds = |text: &str, book: &Book| {
        let read = read(text.as_bytes(), "");
        read.is_ok_and(|read| read == *book)
    };
    if before == after && holds(text, before) {
        return text.into();
    }
    let ways = [Grain::Keys, Grain::Tables];
    let amended = ways.into_iter().filter_map(|grain| {
        let amended = amended(text, before, after, grain)?;
        holds(&amended, after).then_some(amended)
    });
    let mut amended = amended;
    amended.next().unwrap_or_else(|| write(after))
}

/// How much is written anew where something differs.
#[derive(Clone, Copy, PartialEq)]
enum Grain {
    /// Single keys, and single parts of a list.
    Keys,
    /// The whole of a hose, a line, a scene.
    Tables,
}

fn amended(text: &str, before: &Book, after: &Book, grain: Grain) -> Option<String> {
    let (mark, body) = match text.strip_prefix('\u{feff}') {
        Some(body) => ("\u{feff}", body),
        None => ("", text),
    };
    let mut file: DocumentMut = body.parse().ok()?;
    let old: DocumentMut = write(before).parse().ok()?;
    let new: DocumentMut = write(after).parse().ok()?;
    let mut merge = Merge {
        grain,
        orphans: Vec::new(),
    };
    merge.table(file.as_table_mut(), old.as_table(), new.as_table(), 0);
    for (position, comment) in merge.orphans {
        hand_on(&mut file, position, &comment);
    }
    let amended = file.to_string();
    // The parser leaves carriage returns out.
    let returns = body.contains("\r\n") && !body.replace("\r\n", "").contains('\n');
    Some(match returns {
        true => format!("{mark}{}", amended.replace('\n', "\r\n")),
        false => format!("{mark}{amended}"),
    })
}

struct Merge {
    grain: Grain,
    /// Comments over sections whose first table went, and where that stood.
    orphans: Vec<(isize, String)>,
}

impl Merge {
    /// Brings what differs between `old` and `new` into the file's own table.
    fn table(
        &mut self,
        file: &mut dyn TableLike,
        old: &dyn TableLike,
        new: &dyn TableLike,
        depth: usize,
    ) {
        let gone: Vec<&str> = old.iter().map(|(key, _)| key).collect();
        let gone: Vec<&str> = gone.into_iter().filter(|k| !new.contains_key(k)).collect();
        let mut renamed = Vec::new();
        if depth == 1 {
            renamed = rename(file, old, new, &gone);
        }
        for key in gone.iter().filter(|key| !renamed.contains(*key)) {
            if let Some(Item::Table(table)) = file.remove(key) {
                self.orphan(&table);
            }
        }
        let mut before: Option<isize> = None;
        for (key, fresh) in new.iter() {
            let was = old.get(key);
            if was.is_some_and(|was| same(was, fresh))
                || file.get(key).is_some_and(|own| is_renamed(own, fresh, was))
            {
                before = file.get(key).and_then(last_position).or(before);
                continue;
            }
            match file.get_mut(key) {
                Some(own) => self.item(own, was, fresh, depth),
                None => add(file, key, fresh, before),
            }
            before = file.get(key).and_then(last_position).or(before);
        }
    }

    fn item(&mut self, own: &mut Item, was: Option<&Item>, fresh: &Item, depth: usize) {
        let whole = self.grain == Grain::Tables && depth == 1;
        let was = was.filter(|_| !whole);
        let tables = (was.and_then(Item::as_table_like), fresh.as_table_like());
        if let ((Some(old), Some(new)), true) = (tables, own.is_table_like()) {
            if let Some(own) = own.as_table_like_mut() {
                self.table(own, old, new, depth + 1);
            }
            if let Some(own) = own.as_inline_table_mut()
                && !same_keys(old, new)
            {
                neat(own);
            }
            return;
        }
        if let (Some(own), Some(Item::Value(old)), Item::Value(new)) =
            (own.as_value_mut(), was, fresh)
        {
            return self.value(own, old, new);
        }
        replace(own, fresh);
    }

    /// Brings what differs between two values into the file's own.
    fn value(&mut self, own: &mut Value, old: &Value, new: &Value) {
        match (&mut *own, old, new) {
            (Value::Array(own), Value::Array(old), Value::Array(new))
                if own.len() == old.len() && !own.is_empty() && !new.is_empty() =>
            {
                list::merge(self, own, old, new);
            }
            (Value::InlineTable(own), Value::InlineTable(old), Value::InlineTable(new))
                if first_key(old) == first_key(new) =>
            {
                self.table(own, old, new, INSIDE);
                if !same_keys(old, new) {
                    neat(own);
                }
            }
            _ => {
                let decor = own.decor().clone();
                *own = new.clone();
                *own.decor_mut() = decor;
            }
        }
    }

    /// Keeps what stands over a table that goes and is not about it alone: the
    /// comments before the last blank line.
    fn orphan(&mut self, table: &Table) {
        let prefix = raw(table.decor().prefix());
        let section = prefix.rfind("\n\n").and_then(|at| prefix.get(..=at));
        if let (Some(section), Some(position)) = (section, table.position())
            && section.contains('#')
        {
            self.orphans.push((position, section.into()));
        }
    }
}

/// What a value holds lies deeper than any table with a name.
const INSIDE: usize = 9;

fn same_keys(a: &dyn TableLike, b: &dyn TableLike) -> bool {
    a.len() == b.len() && a.iter().all(|(key, _)| b.contains_key(key))
}

fn first_key(table: &InlineTable) -> Option<&str> {
    table.iter().next().map(|(key, _)| key)
}

/// Entries whose name alone changed keep their place: their old names.
fn rename<'a>(
    file: &mut dyn TableLike,
    old: &dyn TableLike,
    new: &dyn TableLike,
    gone: &[&'a str],
) -> Vec<&'a str> {
    let mut renamed = Vec::new();
    for key in gone {
        let Some(was) = old.get(key).filter(|was| was.is_table_like()) else {
            continue;
        };
        let mut names = new.iter();
        let to = names.find(|(name, item)| {
            !old.contains_key(name) && !file.contains_key(name) && same(was, item)
        });
        if let Some((to, _)) = to
            && let Some(item) = file.remove(key)
        {
            file.insert(to, item);
            renamed.push(*key);
        }
    }
    renamed
}

/// Is the entry there already, under a name that `old` had not?
fn is_renamed(own: &Item, fresh: &Item, was: Option<&Item>) -> bool {
    was.is_none() && own.is_table_like() && fresh.is_table_like()
}

fn add(file: &mut dyn TableLike, key: &str, fresh: &Item, before: Option<isize>) {
    let mut item = fresh.clone();
    let last = file
        .iter()
        .filter_map(|(_, item)| last_position(item))
        .max();
    set_position(&mut item, before.or(last));
    file.insert(key, item);
}

fn replace(own: &mut Item, fresh: &Item) {
    let position = own.as_table().and_then(Table::position);
    let prefix = own.as_table().map(|t| raw(t.decor().prefix()));
    let mut item = fresh.clone();
    set_position(&mut item, position);
    if let (Some(table), Some(prefix)) = (item.as_table_mut(), prefix) {
        table.decor_mut().set_prefix(prefix);
    }
    *own = item;
}

/// The greatest place in the file of a table and what lies in it.
fn last_position(item: &Item) -> Option<isize> {
    let table = item.as_table()?;
    let inner = table.iter().filter_map(|(_, item)| last_position(item));
    inner.chain(table.position()).max()
}

fn set_position(item: &mut Item, position: Option<isize>) {
    let Item::Table(table) = item else { return };
    table.set_position(position);
    for (_, inner) in table.iter_mut() {
        set_position(inner, position);
    }
}

/// Puts a section's comment over the first table behind `position`, or at the
/// end of the file.
fn hand_on(file: &mut DocumentMut, position: isize, comment: &str) {
    let next = following(file.as_item(), position);
    let prefixed = next.is_some_and(|next| prefix_at(file.as_item_mut(), next, comment));
    if !prefixed {
        let trailing = raw(Some(file.trailing()));
        file.set_trailing(format!("{comment}{trailing}"));
    }
}

fn following(item: &Item, position: isize) -> Option<isize> {
    let table = item.as_table()?;
    let inner = table
        .iter()
        .filter_map(|(_, item)| following(item, position));
    let own = table.position().filter(|&p| p > position);
    inner.chain(own).min()
}

fn prefix_at(item: &mut Item, position: isize, comment: &str) -> bool {
    let Item::Table(table) = item else {
        return false;
    };
    if table.position() == Some(position) && !table.is_implicit() {
        let prefix = raw(table.decor().prefix());
        table.decor_mut().set_prefix(format!("{comment}{prefix}"));
        return true;
    }
    let mut inner = table.iter_mut();
    inner.any(|(_, item)| prefix_at(item, position, comment))
}

fn raw(text: Option<&RawString>) -> String {
    let text = text.and_then(RawString::as_str);
    text.unwrap_or_default().into()
}

/// Are the two the same, as [`write`] has them?
fn same(a: &Item, b: &Item) -> bool {
    match (a, b) {
        (Item::Value(a), Item::Value(b)) => same_value(a, b),
        _ => match (a.as_table_like(), b.as_table_like()) {
            (Some(a), Some(b)) => {
                let equal = |(key, a): (&str, &Item)| b.get(key).is_some_and(|b| same(a, b));
                a.len() == b.len() && a.iter().all(equal)
            }
            _ => false,
        },
    }
}

fn same_value(a: &Value, b: &Value) -> bool {
    let plain = |value: &Value| value.clone().decorated("", "").to_string();
    plain(a) == plain(b)
}

/// Single spaces between what is on one line of a table in { }.
fn neat(table: &mut InlineTable) {
    let spaces = |text: &str| text.chars().all(|c| c == ' ');
    let count = table.len();
    for (index, (mut key, value)) in table.iter_mut().enumerate() {
        if spaces(&raw(key.leaf_decor().prefix())) {
            key.leaf_decor_mut().set_prefix(" ");
        }
        if spaces(&raw(value.decor().suffix())) {
            let end = if index + 1 == count { " " } else { "" };
            value.decor_mut().set_suffix(end);
        }
    }
}
