#![doc = include_str!("../README.md")]

mod amend;
mod catalogue;
mod check;
pub mod comparison;
mod edit;
mod keys;
mod layout;
pub mod model;
mod problem;
mod reader;
mod schema;
mod writer;

pub use amend::amend;
pub use catalogue::catalogue;
pub use check::{Fault, check, line as check_line};
pub use edit::{
    AimFields, ApplianceFields, Edit, EditError, FieldError, HoseFields, ItemError, ItemFields,
    ItemKind, NewLine, NewLineError, NewScene, NozzleFields, RigFields, SceneEdit, Started,
    WaterFields, change_item, crew_limit, edit, edit_and_adapt, edit_scene, free_name, item_fields,
    marking, new_item, new_line, pump_ceiling, pump_pressure, remove_item, shown,
};
pub use layout::{
    Added, Branch, Change, Conditions, Cut, CutKind, Feeds, LaidFoam, LaidPart, LaidRig,
    LaidSource, LaidStandpipe, LaidTip, Layout, LayoutError, Opened, Outlet, PartKind,
    SceneConditions, SceneLayout, SourceKind, layout, scene,
};
pub use model::*;
pub use problem::{Problem, Problems, Severity, nearest};
pub use reader::{DEPTH_LIMIT, Reading, SIZE_LIMIT, examine, read};
pub use schema::schema;
pub use writer::write;
