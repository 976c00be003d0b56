//! The form of a piece of equipment, in the words of the trade.

use crate::address;
use crate::fields::{Groups, Row, colours, field, plain};
use crate::form::Refused;
use crate::reader::Reader;
use crate::shell::{self, Place};
use crate::tables::capital;
use crate::workbench::Opened;
use book::{ApplianceKind, Book, HydrantSupply, ItemFields, ItemKind};
use hydraulics::units::System;
use maud::{Markup, html};

/// What a form is about, and what stands in it.
pub(super) struct Form {
    pub kind: ItemKind,
    /// The item that is changed; none: a new one.
    pub name: Option<String>,
    /// The item that the new one is like.
    pub like: Option<String>,
    pub fields: ItemFields,
    /// What is wrong, by field; an empty key is about the whole.
    pub wrong: Refused,
}

impl Form {
    pub fn new(kind: ItemKind, name: Option<String>, fields: ItemFields) -> Self {
        Form {
            kind,
            name,
            like: None,
            fields,
            wrong: Vec::new(),
        }
    }

    fn message(&self, key: &str) -> Option<&str> {
        let found = self.wrong.iter().find(|(field, _)| field == key);
        found.map(|(_, message)| message.as_str())
    }
}

pub(super) fn page(opened: &Opened, reader: &Reader, form: &Form) -> Markup {
    let (word, slug) = (form.kind.word(), &opened.slug);
    let (title, action, back) = match &form.name {
        Some(name) => {
            let page = address::equipment(slug, word, name);
            (
                format!("Change {word} {name}"),
                format!("{page}/edit"),
                page,
            )
        }
        None => (
            format!("New {word}"),
            address::book(slug, &format!("/new/{word}")),
            address::book(slug, "/equipment"),
        ),
    };
    let groups = Fields {
        book: &opened.book,
        typed: &form.fields,
        system: reader.system(&opened.book),
    }
    .groups(form);
    let content = html! {
        h1 { (title) }
        @if let Some(like) = &form.like { p { "Like " b { (like) } ": change what differs, and give it a name of its own." } }
        p.hint { "A bare number is in the unit of its example; any other unit can be written behind it. Leave empty what is not known." }
        form.form.item method="post" action=(action) {
            input type="hidden" name="base" value=(opened.revision);
            input type="hidden" name="do" value="put";
            @if let Some(like) = &form.like { input type="hidden" name="like" value=(like); }
            (at_top(form))
            @for (index, (legend, rows)) in groups.iter().enumerate() {
                fieldset {
                    legend { (legend) }
                    div.fields {
                        @for (number, row) in rows.iter().enumerate() {
                            (field(&row.id(), row, &row.value, form.message(row.key), index + number == 0))
                        }
                    }
                }
            }
            div.actions {
                button.first { @if form.name.is_some() { "Save" } @else { "Make the " (word) } }
                a.button href=(back) { "Leave it" }
            }
        }
    };
    shell::page(&title, reader, &Place::of(opened, "Equipment"), &content)
}

fn at_top(form: &Form) -> Markup {
    html! {
        @match (form.message(""), form.wrong.len()) {
            (Some(message), _) => p.wrong role="alert" { (message) },
            (None, 0) => {},
            (None, 1) => p.wrong role="alert" { "Nothing was saved: one field is to be mended." },
            (None, some) => p.wrong role="alert" { "Nothing was saved: " (some) " fields are to be mended." },
        }
    }
}

type Group = (&'static str, Vec<Row>);

struct Fields<'a> {
    book: &'a Book,
    typed: &'a ItemFields,
    system: System,
}

impl Fields<'_> {
    fn groups(&self, form: &Form) -> Vec<Group> {
        let mut groups = match form.kind {
            ItemKind::Rig => self.rig(),
            ItemKind::Hose => self.hose(),
            ItemKind::Nozzle => self.nozzle(),
            ItemKind::Appliance => self.appliance(),
            ItemKind::Hydrant => self.hydrant(form.name.as_deref()),
            ItemKind::Gauge => self.gauge(),
        };
        if form.name.is_none() {
            let example = match form.kind {
                ItemKind::Rig => "pumper-4",
                ItemKind::Hose => "attack, new",
                ItemKind::Nozzle => "crosslay tip",
                ItemKind::Appliance => "ground monitor",
                ItemKind::Hydrant => "Mill Street and Quay",
                ItemKind::Gauge => "line gauge 3",
            };
            let name = self.row("name", "Name", example, example);
            groups.insert(0, ("What it is called", vec![name]));
        }
        let source = self.text("source", "Source: who says so, and when");
        groups.push((
            "Where this comes from",
            vec![source, self.text("note", "Note")],
        ));
        groups
    }

    fn text(&self, key: &'static str, label: &str) -> Row {
        Row::text(key, label, self.typed.get(key))
    }

    /// A field with an example in the reader's units.
    fn row(&self, key: &'static str, label: &str, us: &str, si: &str) -> Row {
        let example = match self.system {
            System::Us => us,
            System::Si => si,
        };
        self.text(key, &format!("{label} (such as {example})"))
    }

    fn check(&self, key: &'static str, label: &str) -> Row {
        Row::check(key, label, self.typed.get(key))
    }

    fn choice(&self, key: &'static str, label: &str, of: Groups) -> Row {
        Row::choice(key, label, self.typed.get(key), of)
    }

    fn rig(&self) -> Vec<Group> {
        vec![
            (
                "Pump",
                vec![
                    self.row("pump", "Rated flow", "1250 gpm", "3000 L/min"),
                    self.row(
                        "pump_rated_at",
                        "Rated at, for a metric rating; empty for the US points",
                        "150 psi",
                        "10 bar",
                    ),
                    self.row(
                        "pump_points",
                        "Own pump test, flow at net pressure",
                        "510 gpm at 250 psi; 725 gpm at 200 psi; 1040 gpm at 150 psi",
                        "2000 L/min at 15 bar; 3000 L/min at 10 bar",
                    ),
                    self.row(
                        "pump_tested",
                        "Day of that test",
                        "2026-05-11",
                        "2026-05-11",
                    ),
                ],
            ),
            (
                "Tank",
                vec![
                    self.row("tank", "Tank", "750 gal", "3000 L"),
                    self.row("tank_flow", "Tank-to-pump flow", "500 gpm", "1900 L/min"),
                ],
            ),
            (
                "Foam",
                vec![
                    self.row("concentrate", "Foam concentrate carried", "45 gal", "200 L"),
                    self.row(
                        "proportioner",
                        "Most concentrate its proportioner adds",
                        "6 gpm",
                        "24 L/min",
                    ),
                ],
            ),
        ]
    }

    fn hose(&self) -> Vec<Group> {
        let c = |key, label: &str| {
            let form = "psi, gpm, ft: 15.5";
            self.row(key, label, form, "kPa, L/min, m: 24.6")
        };
        vec![
            (
                "Hose",
                vec![
                    self.row("size", "Size", "1.75 in", "45 mm"),
                    self.row(
                        "coupling",
                        "Coupling",
                        "2.5 in NH; 2.5 in NH to 1.5 in NH where the ends differ",
                        "65 mm symmetrical",
                    ),
                    self.row("service_pressure", "Service pressure", "270 psi", "18 bar"),
                    self.row("weight", "Weight, dry", "16 lb per 50 ft", "7 kg per 20 m"),
                ],
            ),
            (
                "Price and store",
                vec![
                    self.row(
                        "price",
                        "Price of a section, in the book's money",
                        "320 per 50 ft",
                        "300 per 20 m",
                    ),
                    self.row("stock", "In store, on no rig", "400 ft", "120 m"),
                ],
            ),
            (
                "Friction loss",
                vec![c(
                    "coefficient",
                    "Published C; when empty, the catalogue's for this size",
                )],
            ),
            (
                "Measured on this hose: used in place of the published C",
                vec![
                    c("measured", "Measured C"),
                    self.row("uncertainty", "It may be off by, in C", "0.6", "0.9"),
                    self.row(
                        "measured_date",
                        "Day of the test",
                        "2026-05-11",
                        "2026-05-11",
                    ),
                    self.text("measured_source", "Who measured, and how"),
                ],
            ),
        ]
    }

    fn nozzle(&self) -> Vec<Group> {
        let kinds = plain(&[
            ("smooth-bore", "Smooth-bore: a solid-stream tip"),
            ("fixed", "Fixed: one flow"),
            ("selectable", "Selectable: a ring with several flows"),
            ("automatic", "Automatic: holds its pressure"),
        ]);
        let shutoffs = plain(&[("none", "None"), ("slide", "Slide"), ("ball", "Ball")]);
        let forms = plain(&[
            ("", "Not written"),
            ("tip", "Tip alone"),
            ("tip with shut-off", "Tip with its own shut-off"),
            ("shut-off with grip", "Shut-off with grip"),
            ("play pipe", "Play pipe"),
        ]);
        vec![
            ("Nozzle", vec![self.choice("kind", "Kind", kinds)]),
            (
                "For a smooth-bore",
                vec![self.row("bore", "Bore", "15/16 in", "24 mm")],
            ),
            (
                "For a fixed or a selectable nozzle",
                vec![
                    self.row("flow", "Flow of a fixed one", "150 gpm", "570 L/min"),
                    self.row(
                        "flows",
                        "Flows of a selectable one",
                        "95; 125; 150 gpm",
                        "360; 475; 570 L/min",
                    ),
                    self.row(
                        "pressure",
                        "Nozzle pressure at its flow",
                        "100 psi",
                        "7 bar",
                    ),
                ],
            ),
            (
                "For an automatic: its setting, or the higher of two",
                self.setting(
                    [
                        "high_name",
                        "high_flow",
                        "high_flow_to",
                        "high_pressure",
                        "high_pressure_to",
                    ],
                    "high",
                ),
            ),
            (
                "For an automatic: a second, lower setting",
                self.setting(
                    [
                        "low_name",
                        "low_flow",
                        "low_flow_to",
                        "low_pressure",
                        "low_pressure_to",
                    ],
                    "low",
                ),
            ),
            (
                "Body",
                vec![
                    self.choice("form", "Put together as", forms),
                    self.choice("shutoff", "Shut-off", shutoffs),
                    self.row("waterway", "Waterway of the shut-off", "1-3/8 in", "35 mm"),
                    self.row("coupling", "Coupling", "1.5 in NH", "45 mm symmetrical"),
                    self.row(
                        "breaks_at",
                        "The tip unscrews at",
                        "1.5 in NH",
                        "45 mm symmetrical",
                    ),
                    self.check("flush", "Can be turned to flush (automatic)"),
                    self.check("foam", "Fit for foam"),
                ],
            ),
            (
                "On labels",
                vec![
                    self.choice("colour", "Colour of the nozzle and its grip", colours()),
                    self.row("mark", "Mark beside the colour", "A or LEFT", "A or LEFT"),
                ],
            ),
            (
                "Price and store",
                vec![
                    self.row("price", "Price of one, in the book's money", "850", "850"),
                    self.row("stock", "Pieces in store, on no rig", "2", "2"),
                ],
            ),
        ]
    }

    fn setting(
        &self,
        [name, flow, flow_to, pressure, pressure_to]: [&'static str; 5],
        called: &str,
    ) -> Vec<Row> {
        let (low, high) = match called {
            "high" => (("94 psi", "6.5 bar"), ("106 psi", "7.3 bar")),
            _ => (("46 psi", "3.2 bar"), ("56 psi", "3.9 bar")),
        };
        vec![
            self.row(name, "Called", called, called),
            self.row(flow, "Lowest flow", "70 gpm", "265 L/min"),
            self.row(flow_to, "Highest flow", "200 gpm", "760 L/min"),
            self.row(pressure, "Nozzle pressure at the lowest flow", low.0, low.1),
            self.row(
                pressure_to,
                "Nozzle pressure at the highest flow",
                high.0,
                high.1,
            ),
        ]
    }

    fn appliance(&self) -> Vec<Group> {
        let kinds = ApplianceKind::ALL.map(|kind| {
            let label = capital(&kind.word().replace('-', " "));
            (kind.word().to_string(), label)
        });
        let gates = plain(&[("", "None"), ("ball", "Ball"), ("slide", "Slide")]);
        let kind = self.choice("kind", "Kind", vec![("", kinds.into())]);
        vec![
            (
                "Appliance",
                vec![
                    kind,
                    self.row(
                        "inlets",
                        "Couplings of its inlets",
                        "2.5 in NH",
                        "65 mm symmetrical",
                    ),
                    self.row(
                        "outlets",
                        "Couplings of its outlets",
                        "1.5 in NH; 1.5 in NH",
                        "45 mm symmetrical; 45 mm symmetrical",
                    ),
                    self.choice("gates", "Gates", gates),
                    self.row("waterway", "Waterway of a gate", "1.5 in", "38 mm"),
                    self.check("clappers", "Each inlet lets water in only (clappers)"),
                ],
            ),
            (
                "Loss: a flat one, or one at a flow",
                vec![
                    self.row("allowance", "Flat loss", "10 psi", "0.7 bar"),
                    self.row(
                        "from_flow",
                        "It counts from a flow of; empty for any",
                        "350 gpm",
                        "1300 L/min",
                    ),
                    self.row("loss", "Loss measured", "8 psi", "0.5 bar"),
                    self.row("loss_flow", "At a flow of", "500 gpm", "1900 L/min"),
                ],
            ),
            (
                "For an eductor",
                vec![
                    self.row("flow", "Rated flow", "95 gpm", "360 L/min"),
                    self.row(
                        "inlet_pressure",
                        "Inlet pressure at its rated flow",
                        "200 psi",
                        "14 bar",
                    ),
                    self.row(
                        "back_pressure",
                        "It draws up to this share of its inlet pressure, in per cent",
                        "65 %",
                        "65 %",
                    ),
                ],
            ),
            (
                "For a regulating valve",
                vec![self.row("setting", "Outlet pressure it holds", "100 psi", "7 bar")],
            ),
            (
                "Price",
                vec![self.row("price", "Price of one, in the book's money", "850", "850")],
            ),
        ]
    }

    fn hydrant(&self, own: Option<&str>) -> Vec<Group> {
        let shapes = [
            ("", "Not noted (as rounded)"),
            ("rounded", "Rounded, 0.90"),
            ("square", "Square, 0.80"),
            ("projecting", "Projecting, 0.70"),
        ];
        let tested = self.book.hydrant.iter().filter(|(name, item)| {
            matches!(item.supply, HydrantSupply::Test { .. }) && Some(name.as_str()) != own
        });
        let pair = |name: &String| (name.clone(), name.clone());
        let none = (String::new(), "Tested itself".to_string());
        let mains = std::iter::once(none).chain(tested.map(|(name, _)| pair(name)));
        let outlet = |keys: [&'static str; 4]| {
            let [size, pitot, count, shape] = keys;
            vec![
                self.row(size, "Size", "2.5 in", "65 mm"),
                self.row(pitot, "Pitot pressure", "31 psi", "2.1 bar"),
                self.row(count, "How many alike", "1", "1"),
                self.choice(shape, "Joins the barrel", plain(&shapes)),
            ]
        };
        let main = self.choice(
            "same_main_as",
            "On the main of",
            vec![("", mains.collect())],
        );
        vec![
            (
                "Flow test",
                vec![
                    self.row("static", "Static pressure", "72 psi", "5 bar"),
                    self.row(
                        "residual",
                        "Residual pressure, with water flowing",
                        "58 psi",
                        "4 bar",
                    ),
                    self.row(
                        "flow",
                        "Flow (or the outlets below)",
                        "1000 gpm",
                        "3800 L/min",
                    ),
                    self.row("date", "Day of the test", "2026-05-11", "2026-05-11"),
                ],
            ),
            (
                "Outlets read by pitot: the first",
                outlet(["size_1", "pitot_1", "count_1", "shape_1"]),
            ),
            (
                "A second outlet",
                outlet(["size_2", "pitot_2", "count_2", "shape_2"]),
            ),
            (
                "A third outlet",
                outlet(["size_3", "pitot_3", "count_3", "shape_3"]),
            ),
            (
                "Without a test of its own: another hydrant's holds",
                vec![main],
            ),
        ]
    }

    fn gauge(&self) -> Vec<Group> {
        let measures = plain(&[
            ("pressure", "Pressure: a gauge"),
            ("flow", "Flow: a flow meter"),
        ]);
        vec![
            (
                "Gauge",
                vec![
                    self.choice("measures", "It measures", measures),
                    self.row("serial", "Number on it", "G-104", "G-104"),
                    self.row(
                        "calibrated",
                        "Day of its last calibration",
                        "2026-03-02",
                        "2026-03-02",
                    ),
                ],
            ),
            (
                "How well it reads",
                vec![
                    self.row(
                        "step",
                        "Smallest step you read, by eye between marks too",
                        "2 psi; 5 gpm for a flow meter",
                        "0.1 bar; 20 L/min for a flow meter",
                    ),
                    self.row(
                        "accuracy",
                        "It may be off by, as its certificate says; a share is of the reading",
                        "3 psi; 1 %",
                        "0.2 bar; 1 %",
                    ),
                    self.row(
                        "swing",
                        "Its needle swings to either side by",
                        "2 psi",
                        "0.1 bar",
                    ),
                    self.row("highest", "End of its scale", "300 psi", "20 bar"),
                ],
            ),
        ]
    }
}
