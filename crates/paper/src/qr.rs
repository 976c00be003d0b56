//! QR codes as SVG.

use fast_qr::qr::QRBuilder;
use fast_qr::{ECL, Module};

/// `text` as an SVG of dark squares with the quiet zone that readers need; `None` when it
/// is too long.
pub(crate) fn svg(text: &str) -> Option<String> {
    let code = QRBuilder::new(text).ecl(ECL::M).build().ok()?;
    let quiet = 4;
    let side = code.size + 2 * quiet;
    let mut path = String::new();
    for row in 0..code.size {
        for (column, module) in code[row].iter().enumerate() {
            if module.value() == Module::DARK {
                path.push_str(&format!("M{} {}h1v1h-1z", column + quiet, row + quiet));
            }
        }
    }
    Some(format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {side} {side}\"><rect width=\"{side}\" height=\"{side}\" fill=\"#fff\"/><path d=\"{path}\" fill=\"#000\"/></svg>"
    ))
}
