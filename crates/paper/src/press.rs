//! From a sheet to pages.

use serde_json::{Value, json};
use typst::diag::SourceDiagnostic;
use typst::foundations::{Datetime, Smart};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards};

use crate::code::Code;
use crate::paper::{Paper, PaperError, Size};
use crate::sheet::{Drawn, Sheet};
use crate::world::{self, Files};
use crate::{qr, text};

/// How many typesettings old a remembered piece of work may get.
const REMEMBERED: usize = 8;

/// The longest address that still makes a QR code which a telephone reads at the printed
/// size.
const ADDRESS: usize = 120;

/// The most letters of a name at the foot of a page.
const FOOT: usize = 36;

/// A sheet as PDF.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pressed {
    /// The file: PDF/A-3a and PDF/UA-1, tagged, fonts inside. The same sheet and paper
    /// give the same bytes.
    pub pdf: Vec<u8>,
    /// How many pages it has.
    pub pages: usize,
}

/// `sheet` on `paper` as PDF.
///
/// # Errors
/// [`PaperError::Date`] and [`PaperError::Address`] when the paper's cannot be used,
/// [`PaperError::Typesetting`] when the page cannot be made.
///
/// ```
/// use paper::{Paper, Size, Units};
/// let text = b"[book]\nname = 'Example'\n[line.left]\n\
///     parts = [{ hose = '2.5 in', length = '200 ft' }, { nozzle = '1-1/8 in smooth bore' }]\n\
///     aim = { tip_pressure = '50 psi' }\n";
/// let book = book::read(text, "example.toml")?;
/// let card = paper::line_card(&book, "left", Units::Us)?;
/// let paper = Paper { size: Size::Pocket, date: "2026-05-11".into(), ..Paper::default() };
/// let pressed = paper::press(&card, &paper)?;
/// assert!(pressed.pdf.starts_with(b"%PDF-"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn press(sheet: &Sheet, paper: &Paper) -> Result<Pressed, PaperError> {
    let document = typeset(sheet, paper)?;
    let options = PdfOptions {
        ident: Smart::Custom(sheet.digest()),
        creator: Smart::Custom(Some("Handline".into())),
        standards: PdfStandards::new(&[PdfStandard::A_3a, PdfStandard::Ua_1])
            .map_err(|error| PaperError::Typesetting(error.message().to_string()))?,
        ..PdfOptions::default()
    };
    let pdf = typst_pdf::pdf(&document, &options).map_err(|errors| wrong(&errors))?;
    Ok(Pressed {
        pdf,
        pages: document.pages().len(),
    })
}

/// The pages of `sheet` on `paper` as SVG pictures, for previews.
///
/// # Errors
/// As [`press`].
pub fn pages_svg(sheet: &Sheet, paper: &Paper) -> Result<Vec<String>, PaperError> {
    let document = typeset(sheet, paper)?;
    let options = typst_svg::SvgOptions::default();
    let pages = document.pages().iter();
    Ok(pages.map(|page| typst_svg::svg(page, &options)).collect())
}

/// The pages of `sheet` on `paper` as the typesetter has them, for other renderers.
///
/// # Errors
/// As [`press`].
pub fn typeset(sheet: &Sheet, paper: &Paper) -> Result<PagedDocument, PaperError> {
    let files = files(sheet, paper)?;
    let done = typst::compile::<PagedDocument>(&files);
    typst::comemo::evict(REMEMBERED);
    done.output.map_err(|errors| wrong(&errors))
}

fn wrong(errors: &[SourceDiagnostic]) -> PaperError {
    let messages: Vec<&str> = errors.iter().map(|e| e.message.as_str()).collect();
    PaperError::Typesetting(messages.join("; "))
}

fn files(sheet: &Sheet, paper: &Paper) -> Result<Files, PaperError> {
    let code = Code::of(sheet, paper.revision);
    let date = date(&paper.date)?;
    let content = qr_content(code, paper)?;
    let qr = qr::svg(&content).ok_or_else(|| address_refused(&content))?;
    let drawings = sheet
        .drawings
        .iter()
        .map(|drawing| in_our_font(&drawing.svg));
    let mut data = data(sheet, paper, code);
    let drawn = |drawing: &Drawn| drawing.svg.chars().any(|c| !text::is_there(c, &world::has));
    let lacking = text::fit(&mut data, &world::has) | sheet.drawings.iter().any(drawn);
    data["head"]["lacking"] = json!(lacking);
    data["head"]["day"] = json!(date);
    Files::new(sheet.kind.template(), data.to_string(), qr, drawings)
        .ok_or_else(|| PaperError::Typesetting("the template has no name".into()))
}

/// Year, month and day.
pub(crate) fn date(text: &str) -> Result<[i32; 3], PaperError> {
    let numbers = text.split('-').map(str::parse::<i32>);
    let numbers: Option<Vec<i32>> = numbers.map(Result::ok).collect();
    let found = match numbers.as_deref() {
        Some(&[year @ 1900..=9999, month, day]) if text.len() == 10 => {
            let month_day = (u8::try_from(month).ok(), u8::try_from(day).ok());
            let real = match month_day {
                (Some(m), Some(d)) => Datetime::from_ymd(year, m, d).is_some(),
                _ => false,
            };
            real.then_some([year, month, day])
        }
        _ => None,
    };
    found.ok_or_else(|| PaperError::Date(text.into()))
}

/// What the QR code holds: the code, behind the address where one is set.
fn qr_content(code: Code, paper: &Paper) -> Result<String, PaperError> {
    let Some(address) = paper.address.as_deref() else {
        return Ok(code.to_string());
    };
    let sound =
        !address.is_empty() && !address.chars().any(|c| c.is_whitespace() || c.is_control());
    if !sound || address.len() > ADDRESS {
        return Err(address_refused(address));
    }
    Ok(format!("{}/paper/{code}", address.trim_end_matches('/')))
}

fn address_refused(address: &str) -> PaperError {
    PaperError::Address {
        letters: address.chars().count(),
        most: ADDRESS,
    }
}

/// A drawing whose text is in the font of the sheet.
fn in_our_font(svg: &str) -> String {
    let named = format!("font-family:'{}'", world::FAMILY);
    let named = svg.replace("font-family:sans-serif", &named);
    named
        .chars()
        .map(|c| text::or_square(c, &world::has))
        .collect()
}

/// `text`, cut where it is too long for the foot of a page; the head has all of it.
fn short(text: &str) -> String {
    match text.char_indices().nth(FOOT) {
        Some((end, _)) => format!("{}…", text.get(..end).unwrap_or(text)),
        None => text.into(),
    }
}

fn data(sheet: &Sheet, paper: &Paper, code: Code) -> Value {
    let size = sheet.kind.size(paper.size, sheet.units);
    let (width, height) = size.mm();
    let drawings = sheet.drawings.iter().enumerate();
    let drawings = drawings.map(
        |(number, drawing)| json!({ "file": format!("/drawing-{number}.svg"), "alt": drawing.alt }),
    );
    json!({
        "page": {
            "width": width,
            "height": height,
            "pocket": size == Size::Pocket,
            "asked": (size != paper.size).then_some(paper.size.word()),
        },
        "head": {
            "kind": sheet.kind.title(),
            "title": sheet.title,
            "foot": [short(&sheet.department), short(&sheet.subject)],
            "department": sheet.department,
            "invented": sheet.invented,
            "facts": sheet.head,
            "date": paper.date,
            "revision": match code.revision {
                Some(number) => format!("revision {number}"),
                None => "no revision: printed from a file".into(),
            },
            "code": code.to_string(),
            "address": paper.address,
        },
        "sources": sheet.sources,
        "cautions": sheet.cautions,
        "drawings": drawings.collect::<Vec<_>>(),
        "body": sheet.body,
    })
}
