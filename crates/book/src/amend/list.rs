//! Lists in a file: what changed in the middle is written anew, and comments
//! stay with the entry they are about.

use super::{Merge, raw, same_value};
use toml_edit::{Array, Value};

/// Brings what differs between `old` and `new` into the file's own list, which
/// has as many entries as `old`; none of the three is empty.
pub(super) fn merge(merge: &mut Merge, own: &mut Array, old: &Array, new: &Array) {
    let (old_values, new_values): (Vec<&Value>, Vec<&Value>) =
        (old.iter().collect(), new.iter().collect());
    let alike = |(a, b): &(&&Value, &&Value)| same_value(a, b);
    let shorter = old.len().min(new.len());
    let from_start = old_values.iter().zip(&new_values);
    let start = from_start.take_while(alike).count();
    let from_end = old_values.iter().rev().zip(new_values.iter().rev());
    let end = from_end.take(shorter - start).take_while(alike).count();
    let (was, is) = (old.len() - start - end, new.len() - start - end);
    for index in start..start + was.min(is) {
        if let (Some(own), Some(a), Some(b)) = (own.get_mut(index), old.get(index), new.get(index))
        {
            merge.value(own, a, b);
        }
    }
    for _ in is..was {
        remove(own, start + is);
    }
    for index in start + was..start + is {
        if let Some(value) = new.get(index) {
            insert(own, index, value.clone());
        }
    }
}

fn prefix(value: &Value) -> String {
    raw(value.decor().prefix())
}

/// A text cut before its first line end. What stands on that first line is about
/// the entry before.
fn cut(text: &str) -> (&str, &str) {
    text.split_at(text.find('\n').unwrap_or(text.len()))
}

/// The comment on the first line of `text`, if there is one, and the rest.
fn comment(text: &str) -> (&str, &str) {
    match cut(text) {
        (head, rest) if head.contains('#') => (head, rest),
        _ => ("", text),
    }
}

fn remove(own: &mut Array, index: usize) {
    let gone = own.remove(index);
    let before = prefix(&gone);
    let (head, _) = comment(&before);
    if let Some(next) = own.get_mut(index) {
        let text = prefix(next);
        let rest = match comment(&text) {
            ("", text) if index == 0 && !text.contains('\n') => before.as_str(),
            (_, rest) => rest,
        };
        next.decor_mut().set_prefix(format!("{head}{rest}"));
    } else if own.trailing_comma() {
        let trailing = raw(Some(own.trailing()));
        let (_, rest) = comment(&trailing);
        own.set_trailing(format!("{head}{rest}"));
    } else if let Some(last) = index.checked_sub(1).and_then(|i| own.get_mut(i)) {
        let suffix = raw(gone.decor().suffix());
        let (_, rest) = comment(&suffix);
        last.decor_mut().set_suffix(format!("{head}{rest}"));
    }
}

fn insert(own: &mut Array, index: usize, value: Value) {
    let neighbour = own.get(index).or_else(|| own.get(index.checked_sub(1)?));
    let sample = neighbour.map(prefix).unwrap_or_default();
    let indent = sample.rfind('\n').and_then(|at| sample.get(at..));
    let mut value = value;
    if let Some(next) = own.get_mut(index) {
        let text = prefix(next);
        let (head, rest) = comment(&text);
        match indent {
            Some(indent) => {
                value.decor_mut().set_prefix(format!("{head}{indent}"));
                next.decor_mut().set_prefix(rest);
            }
            None => {
                value.decor_mut().set_prefix(text);
                next.decor_mut().set_prefix(" ");
            }
        }
    } else if own.trailing_comma() {
        let trailing = raw(Some(own.trailing()));
        let (head, rest) = comment(&trailing);
        let indent = indent.unwrap_or(" ");
        value.decor_mut().set_prefix(format!("{head}{indent}"));
        own.set_trailing(rest);
    } else if let Some(last) = index.checked_sub(1).and_then(|i| own.get_mut(i)) {
        let suffix = raw(last.decor().suffix());
        let (head, rest) = comment(&suffix);
        let indent = indent.unwrap_or(" ");
        value.decor_mut().set_prefix(format!("{head}{indent}"));
        value.decor_mut().set_suffix(rest);
        last.decor_mut().set_suffix("");
    }
    own.insert_formatted(index, value);
}
