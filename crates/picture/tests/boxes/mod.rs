//! Where the texts of a drawing stand.

use picture::Drawing;
use picture::text::width;
use roxmltree::{Document, Node};

/// Writes a drawing where PICTURES names a folder, for people to look at.
pub fn keep(name: &str, drawing: &Drawing) {
    if let Ok(folder) = std::env::var("PICTURES") {
        let name = name.replace([' ', ':'], "-");
        std::fs::write(format!("{folder}/{name}.svg"), &drawing.svg).unwrap();
    }
}

/// The boxes of the level texts of a drawing, by an estimate of their width.
fn text_boxes(drawing: &Drawing) -> Vec<(f64, f64, f64, f64, String)> {
    let document = Document::parse(&drawing.svg).unwrap();
    let texts = document.descendants().filter(|n| n.has_tag_name("text"));
    let level = texts.filter(|n| !n.has_attribute("transform"));
    level
        .map(|node| {
            let (x, y, size) = (of(&node, "x"), of(&node, "y"), of(&node, "font-size"));
            let text = node.text().unwrap_or_default();
            let wide = width(text, size);
            let left = match node.attribute("text-anchor") {
                Some("middle") => x - 0.5 * wide,
                Some("end") => x - wide,
                _ => x,
            };
            let (top, bottom) = (y - 0.8 * size, y + 0.2 * size);
            (left, left + wide, top, bottom, text.to_string())
        })
        .collect()
}

/// A number among a node's attributes.
pub fn of(node: &Node<'_, '_>, name: &str) -> f64 {
    node.attribute(name).unwrap().parse().unwrap()
}

/// Texts that lie on each other or run over the edge.
pub fn overlaps(drawing: &Drawing) -> Vec<String> {
    let boxes = text_boxes(drawing);
    let mut found = Vec::new();
    for (index, a) in boxes.iter().enumerate() {
        let off = a.0 < 0.0 || a.1 > drawing.width;
        found.extend(off.then(|| format!("{} runs over the edge", a.4)));
        for b in boxes.iter().skip(index + 1) {
            if a.0 < b.1 && b.0 < a.1 && a.2 < b.3 && b.2 < a.3 {
                found.push(format!("{} / {}", a.4, b.4));
            }
        }
    }
    found
}
