//! What to read, before it is read.

use super::begin::Wanted;
use super::sheet::Expected;
use crate::reader::Reader;
use crate::tables::capital;
use crate::workbench::Opened;
use book::Book;
use maud::{Markup, html};
use study::proof::Subject;

/// What is expected at each point and place.
pub(super) fn expected(_: &Opened, _: &Subject, _: Option<&str>) -> Expected {
    Vec::new()
}
pub(super) fn shown(_: &Opened, _: &Reader, _: &Wanted) -> Markup {
    html! {}
}

/// What people call a test.
pub(super) fn title(_: &Book, subject: &Subject) -> String {
    match subject {
        Subject::Hose { hose, .. } => format!("Friction of hose {hose}"),
        Subject::Nozzle {
            nozzle,
            setting: Some(setting),
        } => format!("Nozzle {nozzle}, {setting}"),
        Subject::Nozzle {
            nozzle,
            setting: None,
        } => format!("Nozzle {nozzle}"),
        Subject::Pump { rig } => format!("Pump of {rig}"),
        Subject::Hydrant { hydrant } => format!("Hydrant {hydrant}"),
        Subject::Service { hose } => capital(&format!("service test of hose {hose}")),
    }
}
