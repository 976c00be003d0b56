//! Drawings of a test, read back as XML and held against its data.
#![allow(clippy::unwrap_used)]

use hydraulics::units::{Kind, Measure, System, gpm, psi};
use picture::text::width;
use picture::{Drawing, budget, fit, set_up};
use roxmltree::{Document, Node};
use study::proof::{Drawn, DrawnPoint, Find, Found, Measured, Place, Subject};
use study::reduce::{Budget, Contribution, Kind as Known};

const SYSTEMS: [System; 2] = [System::Us, System::Si];

/// Friction loss in 200 ft by C 9.5, the book having 15.5: the printed measured line (case
/// of 161 gpm and 49 psi) with its neighbours; the points of `apart` read 6 psi too much.
fn hose(count: u32, apart: &[u32]) -> Drawn {
    let loss = |c: f64, q: f64| psi(c * (q / 100.0).powi(2) * 2.0).si();
    let point = |number: u32| {
        let q = 80.0 + 120.0 * f64::from(number - 1) / f64::from(count.max(2) - 1);
        let off = f64::from(number * 7 % 5) * 0.3 - 0.6;
        let off = off + if apart.contains(&number) { 6.0 } else { 0.0 };
        DrawnPoint {
            point: number,
            x: [gpm(q).si(), gpm(2.0).si()],
            y: [loss(9.5, q) + psi(off).si(), psi(1.1).si()],
            residual: psi(off).si(),
            stands_out: apart.contains(&number),
        }
    };
    let along = (0..=40).map(|n| f64::from(n) * 5.0);
    Drawn {
        x: ("flow", Kind::Flow),
        y: ("friction loss", Kind::Pressure),
        points: (1..=count).map(point).collect(),
        fit: along
            .clone()
            .map(|q| [gpm(q).si(), loss(9.5, q), loss(9.2, q), loss(9.8, q)])
            .collect(),
        book: along.map(|q| [gpm(q).si(), loss(15.5, q)]).collect(),
    }
}

/// Nozzle pressure of an automatic nozzle: all far from nought.
fn automatic() -> Drawn {
    let at = |q: f64| 94.0 + 12.0 * (q - 70.0) / 130.0;
    let point = |number: u32| {
        let q = 70.0 + 13.0 * f64::from(number);
        DrawnPoint {
            point: number,
            x: [gpm(q).si(), gpm(2.0).si()],
            y: [psi(at(q) + 0.5).si(), psi(1.0).si()],
            residual: psi(0.5).si(),
            stands_out: false,
        }
    };
    Drawn {
        x: ("flow", Kind::Flow),
        y: ("nozzle pressure", Kind::Pressure),
        points: (0..=10).map(point).collect(),
        fit: (0..=26)
            .map(|n| 70.0 + 5.0 * f64::from(n))
            .map(|q| {
                [
                    gpm(q).si(),
                    psi(at(q)).si(),
                    psi(at(q) - 1.0).si(),
                    psi(at(q) + 1.0).si(),
                ]
            })
            .collect(),
        book: Vec::new(),
    }
}

fn number(us: f64) -> Measured {
    Measured::Number {
        us,
        us_unit: "",
        si: us * 0.04,
        si_unit: "",
        decimals: [2, 3],
    }
}

fn found(sources: &[(&str, Known, f64)]) -> Found {
    let source = |(what, kind, standard): &(&str, Known, f64)| Contribution {
        what: (*what).to_string(),
        kind: *kind,
        standard: *standard,
        degrees: 9.0,
    };
    Found {
        name: "friction coefficient C".into(),
        value: number(9.52),
        standard: number(0.2),
        between: [number(9.11), number(9.93)],
        degrees: 14.0,
        budget: Budget {
            contributions: sources.iter().map(source).collect(),
        },
        book: Some(number(15.5)),
        book_is: "published".into(),
        told_apart: true,
    }
}

fn subjects() -> Vec<(Subject, Vec<Place>)> {
    let hose = |find| Subject::Hose {
        hose: "attack".into(),
        find,
    };
    let nozzle = Subject::Nozzle {
        nozzle: "twin".into(),
        setting: Some("high".into()),
    };
    let pump = Subject::Pump {
        rig: "pumper-1".into(),
    };
    let hydrant = Subject::Hydrant {
        hydrant: "corner".into(),
    };
    let service = Subject::Service {
        hose: "attack".into(),
    };
    vec![
        (
            hose(Find::C),
            vec![Place::Inlet, Place::Flow, Place::Outlet],
        ),
        (
            hose(Find::Roughness),
            vec![Place::Inlet, Place::Outlet, Place::Pitot],
        ),
        (
            hose(Find::Exponent),
            vec![Place::Inlet, Place::Flow, Place::Outlet, Place::Pitot],
        ),
        (nozzle.clone(), vec![Place::Flow, Place::Tip]),
        (nozzle, vec![Place::Tip, Place::Pitot]),
        (
            pump.clone(),
            vec![Place::Intake, Place::Discharge, Place::Flow, Place::Pitot],
        ),
        (pump, vec![Place::Intake, Place::Discharge, Place::Pitot]),
        (hydrant.clone(), vec![Place::Residual, Place::Pitot]),
        (hydrant, vec![Place::Residual, Place::Flow]),
        (service, vec![Place::Held]),
    ]
}

fn set_ups(name: &str) -> Vec<(String, Drawing)> {
    let all = subjects().into_iter();
    all.map(|(subject, places)| {
        let named = places
            .iter()
            .map(|place| (*place, format!("{name} {}", place.word())));
        let named: Vec<(Place, String)> = named.collect();
        (subject.to_string(), set_up(&subject, &named))
    })
    .collect()
}

fn all(system: System) -> Vec<(String, Drawing)> {
    let mut all = set_ups("G-1");
    for (name, drawn) in [
        ("few", hose(5, &[])),
        ("one apart", hose(18, &[7])),
        ("sixty", hose(60, &[3, 31, 32, 60])),
        ("all apart", hose(24, &(1..=24).collect::<Vec<_>>())),
        ("automatic", automatic()),
        (
            "nothing fitted",
            Drawn {
                fit: Vec::new(),
                ..hose(6, &[])
            },
        ),
        (
            "nothing at all",
            Drawn {
                fit: Vec::new(),
                book: Vec::new(),
                ..hose(0, &[])
            },
        ),
    ] {
        all.push((name.into(), fit(&drawn, system)));
    }
    let sources: Vec<(String, Known, f64)> = (0..14)
        .map(|n| {
            (
                format!("gauge number {n} with a long name: accuracy and step of its scale"),
                Known::B,
                f64::from(n),
            )
        })
        .collect();
    let sources: Vec<(&str, Known, f64)> = sources
        .iter()
        .map(|(what, kind, u)| (what.as_str(), *kind, *u))
        .collect();
    all.push(("many sources".into(), budget(&found(&sources), system)));
    all.push(("no source".into(), budget(&found(&[]), system)));
    all
}

/// Writes a drawing where PICTURES names a folder, for people to look at.
fn keep(name: &str, drawing: &Drawing) {
    if let Ok(folder) = std::env::var("PICTURES") {
        let name = name.replace([' ', ':'], "-");
        std::fs::write(format!("{folder}/{name}.svg"), &drawing.svg).unwrap();
    }
}

fn tagged<'a>(document: &'a Document<'a>, attribute: &'a str) -> Vec<Node<'a, 'a>> {
    let found = document.descendants();
    found.filter(|node| node.has_attribute(attribute)).collect()
}

fn of(node: &Node<'_, '_>, name: &str) -> f64 {
    node.attribute(name).unwrap().parse().unwrap()
}

/// From pixels to the values of an axis, by two of its written ticks: those whose text
/// is anchored so and stands in the band of pixels.
fn scale(document: &Document<'_>, anchor: &str, band: (f64, f64)) -> impl Fn(f64) -> f64 {
    let along = anchor == "middle";
    let texts = document.descendants().filter(|n| n.has_tag_name("text"));
    let ticks = texts.filter(|n| n.attribute("text-anchor") == Some(anchor));
    let ticks: Vec<(f64, f64)> = ticks
        .filter(|n| (band.0..band.1).contains(&of(n, "y")))
        .filter_map(|n| {
            let value = n.text()?.split(' ').next()?.parse().ok()?;
            let pixel = if along {
                of(&n, "x")
            } else {
                of(&n, "y") - 4.5
            };
            Some((pixel, value))
        })
        .collect();
    let (first, last) = (*ticks.first().unwrap(), *ticks.last().unwrap());
    assert!(ticks.len() > 2, "{ticks:?}");
    move |pixel| first.1 + (pixel - first.0) / (last.0 - first.0) * (last.1 - first.1)
}

/// The middle of the mark in a group.
fn mark(group: &Node<'_, '_>) -> (f64, f64) {
    let circle = group.descendants().find(|n| n.has_tag_name("circle"));
    if let Some(circle) = circle {
        return (of(&circle, "cx"), of(&circle, "cy"));
    }
    let shapes = group
        .descendants()
        .filter(|n| n.attribute("class") == Some("hot"));
    let way = shapes.last().unwrap().attribute("d").unwrap();
    let corners = way.trim_start_matches('M').trim_end_matches('Z').split('L');
    let corners: Vec<(f64, f64)> = corners
        .map(|corner| {
            let (x, y) = corner.split_once(' ').unwrap();
            (x.parse().unwrap(), y.parse().unwrap())
        })
        .collect();
    (corners[1].0, corners[0].1)
}

#[test]
fn every_point_and_residual_stands_where_its_data_say() {
    for system in SYSTEMS {
        for drawn in [hose(18, &[7]), hose(60, &[3, 31]), automatic()] {
            let drawing = fit(&drawn, system);
            let document = Document::parse(&drawing.svg).unwrap();
            let x = scale(&document, "middle", (615.0, 630.0));
            let y = scale(&document, "end", (90.0, 425.0));
            let off = scale(&document, "end", (450.0, 612.0));
            let groups = tagged(&document, "data-point");
            let residuals = tagged(&document, "data-residual-of");
            assert_eq!(groups.len(), drawn.points.len());
            assert_eq!(residuals.len(), drawn.points.len());
            let (per_x, per_y) = (x(1.0) - x(0.0), (y(1.0) - y(0.0)).abs());
            let per_off = (off(1.0) - off(0.0)).abs();
            let in_pressure = |si| Kind::Pressure.unit(system).from_si(si);
            for ((point, group), residual) in drawn.points.iter().zip(groups).zip(residuals) {
                let at = mark(&group);
                let flow = Kind::Flow.unit(system).from_si(point.x[0]);
                assert!((x(at.0) - flow).abs() < per_x, "{flow} {}", x(at.0));
                let loss = in_pressure(point.y[0]);
                assert!((y(at.1) - loss).abs() < per_y, "{loss} {}", y(at.1));
                assert_eq!(
                    group.attribute("data-point"),
                    Some(&*point.point.to_string())
                );
                let apart = if point.stands_out { "yes" } else { "no" };
                assert_eq!(group.attribute("data-apart"), Some(apart));
                let at = mark(&residual);
                assert!((x(at.0) - flow).abs() < per_x, "aligned");
                let error = off(at.1) - in_pressure(point.residual);
                assert!(error.abs() < per_off, "{error}");
            }
        }
    }
}

#[test]
fn bars_are_as_long_as_the_data_say() {
    let drawn = hose(6, &[]);
    let drawing = fit(&drawn, System::Us);
    let document = Document::parse(&drawing.svg).unwrap();
    let (x, y) = (
        scale(&document, "middle", (615.0, 630.0)),
        scale(&document, "end", (90.0, 425.0)),
    );
    let group = tagged(&document, "data-point")[3];
    let bars = group
        .descendants()
        .find(|n| n.attribute("class") == Some("thin"));
    let ends: Vec<f64> = bars
        .unwrap()
        .attribute("d")
        .unwrap()
        .split(['M', 'L', ' '])
        .filter_map(|n| n.parse().ok())
        .collect();
    // 2 gpm and 1.1 psi to either side.
    let (along, up) = (x(ends[2]) - x(ends[0]), y(ends[7]) - y(ends[5]));
    assert!(
        (along - 4.0).abs() < 0.1 && (up - 2.2).abs() < 0.2,
        "{along} {up}"
    );
}

#[test]
fn what_stands_out_is_told_by_shape_word_and_caption() {
    let drawing = fit(&hose(18, &[7]), System::Us);
    let document = Document::parse(&drawing.svg).unwrap();
    let apart: Vec<_> = tagged(&document, "data-apart")
        .into_iter()
        .filter(|n| n.attribute("data-apart") == Some("yes"))
        .collect();
    assert_eq!(apart.len(), 1);
    assert!(!apart[0].descendants().any(|n| n.has_tag_name("circle")));
    assert!(
        apart[0]
            .attribute("aria-label")
            .unwrap()
            .contains("stands out")
    );
    assert!(document.descendants().any(|n| n.text() == Some("point 7")));
    assert!(
        drawing.caption.contains("Point 7 stands out"),
        "{}",
        drawing.caption
    );
    assert_eq!(drawing.table.rows[6][6], "stands out, or was left out");
    assert_eq!(drawing.table.rows[5][6], "");
}

#[test]
fn field_the_table_has_the_readings_of_the_printed_line() {
    // 200 ft of 1.75 in hose: 161 gpm lose 49 psi (C 9.5).
    let mut drawn = hose(1, &[]);
    drawn.points[0].x = [gpm(161.0).si(), gpm(1.0).si()];
    drawn.points[0].y = [psi(49.0).si(), psi(1.0).si()];
    drawn.points[0].residual = psi(49.0 - 9.5 * 1.61 * 1.61 * 2.0).si();
    let row = &fit(&drawn, System::Us).table.rows[0];
    assert_eq!(
        row[1..6],
        ["161.0 gpm", "1.0 gpm", "49.0 psi", "1.0 psi", "-0.2 psi"]
    );
}

#[test]
fn law_same_data_same_bytes() {
    for system in SYSTEMS {
        assert!(all(system) == all(system));
    }
}

#[test]
fn every_drawing_is_xml_with_title_words_and_legible_text() {
    for system in SYSTEMS {
        for (name, drawing) in all(system) {
            let document = Document::parse(&drawing.svg).unwrap();
            let root = document.root_element();
            let child = |tag: &str| {
                root.children()
                    .find(|c| c.has_tag_name(tag))
                    .unwrap()
                    .text()
            };
            assert!(!child("title").unwrap().is_empty());
            assert_eq!(child("desc"), Some(drawing.caption.as_str()), "{name}");
            let said = format!("{}{:?}{}", drawing.svg, drawing.table, drawing.caption);
            for word in ["NaN", "inf ", "inf\"", "infin", "\"-0\""] {
                assert!(!said.contains(word), "{name}: {word}");
            }
            for size in document
                .descendants()
                .filter_map(|n| n.attribute("font-size"))
            {
                let shown = size.parse::<f64>().unwrap() * drawing.least_width() / drawing.width;
                assert!(shown >= 11.0, "{name}: {shown}");
            }
            keep(&format!("{name}-{system:?}"), &drawing);
            assert!(drawing.svg.len() < 60_000, "{name}: {}", drawing.svg.len());
        }
    }
}

#[test]
fn figures_that_are_no_numbers_leave_a_drawing() {
    let mut drawn = hose(8, &[2]);
    drawn.fit.iter_mut().for_each(|f| f[3] = f64::INFINITY);
    drawn.fit[4] = [f64::NAN; 4];
    drawn.points[1].residual = f64::NAN;
    drawn.points[2].x = [f64::NAN, 0.0];
    drawn.points[3].y[1] = f64::INFINITY;
    let drawing = fit(&drawn, System::Us);
    assert!(!drawing.svg.contains("NaN") && !drawing.svg.contains("inf\""));
    assert_eq!(drawing.table.rows.len(), 7);
    assert_eq!(drawing.table.rows[1][5], "not fitted");
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
            (
                left,
                left + wide,
                y - 0.8 * size,
                y + 0.2 * size,
                text.to_string(),
            )
        })
        .collect()
}

fn overlaps(drawing: &Drawing) -> Vec<String> {
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

#[test]
fn no_texts_overlap_or_run_over_the_edge() {
    let long = "A gauge with a name that somebody typed out in full";
    for system in SYSTEMS {
        for (name, drawing) in all(system)
            .into_iter()
            .chain(set_ups(long))
            .chain(set_ups(""))
        {
            assert_eq!(overlaps(&drawing), Vec::<String>::new(), "{name}");
        }
    }
}

#[test]
fn bars_of_a_budget_are_as_long_as_the_shares_of_the_squares() {
    // Standard uncertainties 3, 4 and 12: squares 9, 16, 144 of 169.
    let sources = [
        ("scatter of the readings", Known::A, 3.0),
        ("flow meter", Known::B, 4.0),
        ("line gauge", Known::B, 12.0),
    ];
    let drawing = budget(&found(&sources), System::Us);
    let document = Document::parse(&drawing.svg).unwrap();
    let bars = document
        .descendants()
        .filter(|n| n.attribute("class") == Some("point"));
    let bars: Vec<(f64, &str)> = bars
        .map(|n| {
            let rect = n.children().find(|c| c.has_tag_name("rect")).unwrap();
            (of(&rect, "width"), rect.attribute("class").unwrap())
        })
        .collect();
    let expected = [(144.0, "full"), (16.0, "full"), (9.0, "box")];
    for ((length, class), (square, of_kind)) in bars.iter().zip(expected) {
        assert!((length / 480.0 - square / 169.0).abs() < 2e-4, "{length}");
        assert_eq!(*class, of_kind);
    }
    assert_eq!(drawing.table.rows[0], ["line gauge", "gauge", "85 %"]);
    assert_eq!(
        drawing.table.rows[2],
        ["scatter of the readings", "scatter", "5 %"]
    );
    assert!(
        drawing.caption.contains("between 9.11 and 9.93"),
        "{}",
        drawing.caption
    );
}

#[test]
fn more_sources_than_there_is_room_for_are_put_together() {
    let drawing = all(System::Us)
        .into_iter()
        .find(|(name, _)| name == "many sources")
        .unwrap()
        .1;
    assert_eq!(drawing.table.rows.len(), 8);
    assert_eq!(drawing.table.rows[7][0], "7 more, each less");
    let shares = drawing.table.rows.iter();
    let sum: f64 = shares
        .filter_map(|r| r[2].strip_suffix(" %")?.parse::<f64>().ok())
        .sum();
    assert!((sum - 100.0).abs() < 3.0, "{sum}");
}

#[test]
fn every_gauge_of_a_set_up_stands_with_its_place_and_name() {
    for (subject, places) in subjects() {
        let named: Vec<(Place, String)> = places
            .iter()
            .map(|place| (*place, format!("no. {}", place.word().len())))
            .collect();
        let drawing = set_up(&subject, &named);
        assert_eq!(
            drawing.table.rows.len(),
            places.len(),
            "{subject}: {:?}",
            drawing.table.rows
        );
        for (place, name) in &named {
            let row = drawing.table.rows.iter().find(|row| row[1] == place.word());
            assert_eq!(&row.unwrap()[2], name, "{subject}");
            assert!(
                drawing.svg.contains(&format!(">{name}<")),
                "{subject}: {name}"
            );
        }
    }
}

#[test]
fn hostile_names_are_escaped_and_kept() {
    for name in [
        "<script>alert('x')</script>",
        "\"quoted\" & 'so'",
        "]]> --> &amp;",
    ] {
        for (_, drawing) in set_ups(name) {
            assert!(Document::parse(&drawing.svg).is_ok());
            assert!(!drawing.svg.contains("<script") && drawing.caption.contains(name));
        }
        let drawing = budget(&found(&[(name, Known::A, 1.0)]), System::Si);
        assert!(!drawing.svg.contains("<script"));
        assert_eq!(drawing.table.rows[0][0], name);
    }
}

#[test]
fn no_scale_goes_below_nought_for_the_sake_of_a_bar() {
    let mut drawn = hose(6, &[]);
    drawn.points[0].x = [0.0, gpm(5.0).si()];
    drawn.points[0].y = [0.0, psi(5.0).si()];
    let document_of = |drawn: &Drawn| fit(drawn, System::Us).svg;
    let svg = document_of(&drawn);
    let document = Document::parse(&svg).unwrap();
    let x = scale(&document, "middle", (615.0, 630.0));
    let y = scale(&document, "end", (90.0, 425.0));
    assert!(
        x(82.0).abs() < 0.01 && y(416.0).abs() < 0.01,
        "{} {}",
        x(82.0),
        y(416.0)
    );
    // Where a point lies below it, the scale does too.
    drawn.points[0].y[0] = psi(-20.0).si();
    let svg = document_of(&drawn);
    let document = Document::parse(&svg).unwrap();
    let y = scale(&document, "end", (90.0, 425.0));
    assert!(y(416.0) <= -20.0, "{}", y(416.0));
}
