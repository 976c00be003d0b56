//! All that the typesetter sees: templates, data, drawings and fonts, in memory.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use typst::diag::{FileError, FileResult};
use typst::foundations::{Bytes, Datetime, Duration};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World};

/// The family of the text on sheets and in their drawings.
pub(crate) const FAMILY: &str = "DejaVu Sans";

static FONTS: LazyLock<Vec<Font>> = LazyLock::new(|| {
    let files = [
        dejavu::sans::regular(),
        dejavu::sans::bold(),
        dejavu::sans_condensed::regular(),
        dejavu::sans_condensed::bold(),
    ];
    let fonts = files.into_iter().map(Bytes::new);
    fonts.flat_map(Font::iter).collect()
});

static BOOK: LazyLock<LazyHash<FontBook>> =
    LazyLock::new(|| LazyHash::new(FontBook::from_fonts(FONTS.iter())));

static LIBRARY: LazyLock<LazyHash<Library>> = LazyLock::new(|| LazyHash::new(Library::default()));

const MAIN: &str = "/sheet.typ";

/// Has the font this letter?
pub(crate) fn has(letter: char) -> bool {
    let regular = FONTS.first();
    regular.is_some_and(|font| font.info().coverage.contains(u32::from(letter)))
}

/// The files of one sheet.
pub(crate) struct Files {
    main: FileId,
    files: BTreeMap<&'static str, Bytes>,
    drawings: Vec<Bytes>,
}

impl Files {
    /// `template` with `data`, the `qr` code and `drawings`. `None` never happens: the
    /// name of the template is a path.
    pub(crate) fn new(
        template: &'static str,
        data: String,
        qr: String,
        drawings: impl Iterator<Item = String>,
    ) -> Option<Self> {
        let common = include_str!("../templates/common.typ");
        Some(Files {
            main: RootedPath::new(VirtualRoot::Project, VirtualPath::new(MAIN).ok()?).intern(),
            files: BTreeMap::from([
                (MAIN, Bytes::from_string(template)),
                ("/common.typ", Bytes::from_string(common)),
                ("/data.json", Bytes::from_string(data)),
                ("/qr.svg", Bytes::from_string(qr)),
            ]),
            drawings: drawings.map(Bytes::from_string).collect(),
        })
    }

    /// "/drawing-0.svg" and so on.
    fn drawing(&self, path: &str) -> Option<&Bytes> {
        let number = path.strip_prefix("/drawing-")?.strip_suffix(".svg")?;
        self.drawings.get(number.parse::<usize>().ok()?)
    }
}

impl World for Files {
    fn library(&self) -> &LazyHash<Library> {
        &LIBRARY
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &BOOK
    }

    fn main(&self) -> FileId {
        self.main
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        let bytes = self.file(id)?;
        let text = bytes.as_str().map_err(FileError::from)?;
        Ok(Source::new(id, text.into()))
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        let path = id.vpath().get_with_slash();
        let found = self.files.get(path).or_else(|| self.drawing(path));
        found
            .cloned()
            .ok_or_else(|| FileError::NotFound(path.into()))
    }

    fn font(&self, index: usize) -> Option<Font> {
        FONTS.get(index).cloned()
    }

    /// A sheet's date is given, not looked up.
    fn today(&self, _: Option<Duration>) -> Option<Datetime> {
        None
    }
}
