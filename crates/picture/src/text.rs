//! Text in a drawing: how wide it will be about, how it is shortened, and how it
//! is written so that any name is safe.
//!
//! Widths are an estimate, a little on the wide side: which font a reader has is
//! not known here. Shares of the font size by letter, house figures from common
//! sans-serif faces (no source).

/// About how wide `text` is at a font size, both in pixels.
///
/// ```
/// use picture::text::width;
/// assert!(width("150 gpm", 14.0) > width("15 gpm", 14.0));
/// assert_eq!(width("", 14.0), 0.0);
/// ```
pub fn width(text: &str, size: f64) -> f64 {
    text.chars().map(share).sum::<f64>() * size
}

fn share(letter: char) -> f64 {
    match letter {
        'i' | 'j' | 'l' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' | ' ' => 0.34,
        'f' | 't' | 'r' | '(' | ')' | '-' | '/' => 0.42,
        'm' | 'w' | 'M' | 'W' | '%' | '@' => 0.98,
        'A'..='Z' | '&' => 0.74,
        letter if letter >= '\u{2e80}' => 1.05,
        _ => 0.63,
    }
}

/// `text`, or as much of it as fits with an ellipsis into `room` pixels.
///
/// ```
/// use picture::text::{shorten, width};
/// assert_eq!(shorten("attack", 14.0, 200.0), "attack");
/// let short = shorten("a name that goes on and on", 14.0, 60.0);
/// assert!(short.ends_with('…') && width(&short, 14.0) <= 60.0);
/// ```
pub fn shorten(text: &str, size: f64, room: f64) -> String {
    if width(text, size) <= room {
        return text.to_string();
    }
    let mut kept = String::new();
    let mut used = width("…", size);
    for letter in text.chars() {
        used += share(letter) * size;
        if used > room {
            break;
        }
        kept.push(letter);
    }
    format!("{}…", kept.trim_end())
}

/// `text` as it is written between tags or in quotes; letters that XML does not
/// have are left out.
///
/// ```
/// assert_eq!(picture::text::escape("a < b & \"c\"\u{0}"), "a &lt; b &amp; &quot;c&quot;");
/// ```
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '&' => out.push_str("&amp;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\t' | '\n' | '\r' => out.push(' '),
            letter if letter < ' ' || matches!(letter, '\u{fffe}' | '\u{ffff}') => {}
            letter => out.push(letter),
        }
    }
    out
}

/// A number of pixels: one decimal where it has any, never a negative zero, never no number.
pub(crate) fn pixels(value: f64) -> String {
    let value = match value.is_finite() {
        true => value.clamp(-1e6, 1e6),
        false => 0.0,
    };
    let text = format!("{value:.1}");
    match text.trim_end_matches(".0") {
        "-0" => "0".to_string(),
        short => short.to_string(),
    }
}

/// `text` in lines that each fit into `room` pixels, at most `most` of them: what is
/// over is shortened.
pub(crate) fn wrap(text: &str, size: f64, room: f64, most: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let full = lines.len() >= most;
        match lines.last_mut() {
            Some(line)
                if full || width(line, size) + width(" ", size) + width(word, size) <= room =>
            {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_string()),
        }
    }
    lines.iter().map(|line| shorten(line, size, room)).collect()
}
