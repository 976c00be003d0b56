//! Text that must fit: long words may break, and letters that the font lacks are shown as
//! an empty square.

use serde_json::Value;

/// Stands for a letter that the font lacks.
const LACKING: char = '\u{25a1}';

/// Allows a break and takes no room.
const MAY_BREAK: char = '\u{200b}';

/// Words up to this long are left whole.
const WHOLE: usize = 14;

/// Has the font this letter, or is it one that leaves no mark?
pub(crate) fn is_there(letter: char, has: &dyn Fn(char) -> bool) -> bool {
    letter.is_ascii() || has(letter)
}

/// `letter`, or what stands for it where the font lacks it.
pub(crate) fn or_square(letter: char, has: &dyn Fn(char) -> bool) -> char {
    if is_there(letter, has) {
        letter
    } else {
        LACKING
    }
}

/// Makes every text in `value` fit. True when the font lacked a letter.
pub(crate) fn fit(value: &mut Value, has: &dyn Fn(char) -> bool) -> bool {
    match value {
        Value::String(text) => {
            let (fitted, lacking) = fitted(text, has);
            *text = fitted;
            lacking
        }
        Value::Array(list) => list.iter_mut().fold(false, |any, v| fit(v, has) | any),
        Value::Object(map) => map.values_mut().fold(false, |any, v| fit(v, has) | any),
        _ => false,
    }
}

fn fitted(text: &str, has: &dyn Fn(char) -> bool) -> (String, bool) {
    let mut lacking = false;
    let letters = text.chars().map(|c| match c {
        c if c.is_whitespace() => ' ',
        c if has(c) => c,
        _ => {
            lacking = true;
            LACKING
        }
    });
    let text: String = letters.collect();
    let words = text.split(' ').map(breakable).collect::<Vec<_>>();
    (words.join(" "), lacking)
}

/// `word`, with breaks allowed where it is long.
fn breakable(word: &str) -> String {
    if word.chars().count() <= WHOLE {
        return word.into();
    }
    let mut broken = String::new();
    let mut since = 0;
    let mut left = word.chars().count();
    for letter in word.chars() {
        broken.push(letter);
        since += 1;
        left -= 1;
        // A comma alone does not begin a line.
        let may = since >= 8 || (since > 2 && "-_/.,".contains(letter));
        if may && left > 1 {
            broken.push(MAY_BREAK);
            since = 0;
        }
    }
    broken
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn long_words_may_break_and_short_ones_stay() {
        let mut value = json!({ "a": ["left-crosslay", "abcdefghijklmnopqrstuvwxyz"] });
        assert!(!fit(&mut value, &|_| true));
        assert_eq!(value["a"][0], "left-crosslay");
        let long = value["a"][1].as_str().unwrap();
        assert_eq!(long.replace(MAY_BREAK, ""), "abcdefghijklmnopqrstuvwxyz");
        assert_eq!(long.matches(MAY_BREAK).count(), 3);
        assert_eq!(breakable("(left-crosslay,"), "(left-\u{200b}crosslay,");
    }

    #[test]
    fn letters_that_the_font_lacks_are_shown_and_said() {
        let mut value = json!(["x\u{4e2d}y"]);
        assert!(fit(&mut value, &|c| c.is_ascii()));
        assert_eq!(value[0], "x\u{25a1}y");
    }
}
