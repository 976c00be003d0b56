//! Reading sheets back.
#![allow(dead_code, clippy::unwrap_used)]

use paper::{Paper, Sheet, Size};
use std::path::Path;
use typst_layout::PagedDocument;

pub fn demo() -> book::Book {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../books/saltmarsh-bend.toml");
    let bytes = std::fs::read(path).unwrap();
    book::read(&bytes, "saltmarsh-bend.toml").unwrap()
}

pub fn on(size: Size) -> Paper {
    Paper {
        size,
        date: "2026-05-11".into(),
        revision: Some(7),
        ..Paper::default()
    }
}

/// The text of a PDF, with all room between letters taken for one space.
pub fn text_of(pdf: &[u8]) -> String {
    let text = pdf_extract::extract_text_from_mem(pdf).unwrap();
    let text = text.replace('\u{200b}', "");
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

pub fn text(sheet: &Sheet, size: Size) -> String {
    text_of(&paper::press(sheet, &on(size)).unwrap().pdf)
}

/// A page as grey pixels: width, height, from black to white.
pub fn pixels(document: &PagedDocument, page: usize, per_point: f64) -> (usize, usize, Vec<u8>) {
    let options = typst_render::RenderOptions {
        pixel_per_pt: per_point.into(),
        ..Default::default()
    };
    let map = typst_render::render(&document.pages()[page], &options);
    let grey = map.pixels().iter().map(|p| {
        let sum = u32::from(p.red()) + u32::from(p.green()) + u32::from(p.blue());
        (sum / 3) as u8
    });
    (map.width() as usize, map.height() as usize, grey.collect())
}

/// Writes the pages as PNG where PAPER_PAGES names a folder, for people to look at.
pub fn keep(document: &PagedDocument, name: &str) {
    let Ok(folder) = std::env::var("PAPER_PAGES") else {
        return;
    };
    let options = typst_render::RenderOptions {
        pixel_per_pt: 1.6.into(),
        ..Default::default()
    };
    for (number, page) in document.pages().iter().enumerate() {
        let map = typst_render::render(page, &options);
        let path = Path::new(&folder).join(format!("{name}-{}.png", number + 1));
        map.save_png(path).unwrap();
    }
}
