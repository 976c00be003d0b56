//! Drawings of the demo department, read back as XML and held against the answers.
#![allow(clippy::unwrap_used)]

use book::{Book, Conditions, Layout};
use hydraulics::hydrant::FlowTest;
use hydraulics::pump::Pump;
use hydraulics::stream::{Quality, Stream, Strike};
use hydraulics::units::{Kind, Length, Measure, Pressure, System, VolumeRate, gpm, psi, show};
use picture::frame::{Axis, Scale, ticks};
use picture::text::width;
use picture::{Drawing, Present, Window};
use roxmltree::{Document, Node};
use std::fmt::Write;
use study::answer::LineAnswer;

const SYSTEMS: [System; 2] = [System::Us, System::Si];

fn demo() -> Book {
    let bytes = include_bytes!("../../../books/saltmarsh-bend.toml");
    book::read(bytes, "saltmarsh-bend.toml").unwrap()
}

fn solved(book: &Book, line: &str) -> (Layout, LineAnswer) {
    let conditions = Conditions::default();
    let layout = book::layout(book, line, &conditions).unwrap();
    (layout, study::solve(book, line, &conditions).unwrap())
}

fn window() -> Window {
    Window {
        distance: Length::of_si(13.0),
        sill: Length::of_si(6.0),
        head: Length::of_si(7.5),
    }
}

/// Every drawing of the demo department, with a name.
fn all(system: System) -> Vec<(String, Drawing)> {
    let book = demo();
    let mut all = Vec::new();
    for line in book.line.keys() {
        let (layout, answer) = solved(&book, line);
        let profile = picture::profile(&layout, &answer, system);
        all.push((format!("profile {line}"), profile));
        let operating = picture::operating(&layout, &answer, system);
        all.extend(operating.map(|drawing| (format!("operating {line}"), drawing)));
        for (laid, tip) in layout.tips.iter().zip(&answer.tips) {
            let stream = study::stream_of(laid, tip.flow, tip.tip_pressure);
            for window in [None, Some(&window())] {
                let drawing = picture::stream(&tip.nozzle, &stream, window, system);
                all.push((format!("stream {line}"), drawing));
            }
        }
    }
    for scene in book.scene.keys() {
        let answer = study::solve_scene(&book, scene, &Default::default()).unwrap();
        all.push((format!("scene {scene}"), picture::scene(&answer, system)));
        for main in answer.sources.iter().filter_map(|s| s.main.as_ref()) {
            let drawing = picture::supply_curve(main, system);
            all.push((format!("supply {scene}"), drawing));
        }
    }
    let present = Present {
        flow: gpm(900.0),
        net: psi(160.0),
    };
    let us = Pump::rated(gpm(1250.0)).unwrap();
    let metric = Pump::rated_metric(VolumeRate::of_si(1.0 / 30.0), Pressure::of_si(1e6)).unwrap();
    for (name, pump) in [("us", us), ("metric", metric)] {
        for present in [None, Some(&present)] {
            let drawing = picture::capability(name, &pump, present, system);
            all.push((format!("capability {name}"), drawing));
        }
    }
    all
}

fn child_text<'a>(node: Node<'a, 'a>, tag: &str) -> Option<&'a str> {
    node.children().find(|c| c.has_tag_name(tag))?.text()
}

#[test]
fn law_same_input_same_bytes() {
    for system in SYSTEMS {
        assert!(all(system) == all(system));
    }
}

#[test]
fn every_drawing_is_xml_with_title_words_and_table() {
    for system in SYSTEMS {
        for (name, drawing) in all(system) {
            let document = Document::parse(&drawing.svg).unwrap();
            let root = document.root_element();
            assert_eq!(root.attribute("role"), Some("group"), "{name}");
            let labels = ["aria-labelledby", "aria-describedby"];
            for id in labels.map(|label| root.attribute(label).unwrap()) {
                let has = |node: &Node<'_, '_>| node.attribute("id") == Some(id);
                let found = document.descendants().filter(has).count();
                assert_eq!(found, 1, "{name}");
            }
            assert!(!child_text(root, "title").unwrap().is_empty());
            assert_eq!(child_text(root, "desc"), Some(drawing.caption.as_str()));
            assert!(!drawing.table.rows.is_empty(), "{name}");
            for row in &drawing.table.rows {
                assert_eq!(row.len(), drawing.table.head.len(), "{name}");
            }
            let said = format!("{}{:?}{}", drawing.svg, drawing.table, drawing.caption);
            for word in ["NaN", "inf ", "inf\"", "infin", "\"-0\""] {
                assert!(!said.contains(word), "{name}: {word}");
            }
        }
    }
}

#[test]
fn points_take_the_focus_and_say_their_values() {
    for (name, drawing) in all(System::Us) {
        let document = Document::parse(&drawing.svg).unwrap();
        let focusable = |node: &Node<'_, '_>| node.attribute("tabindex") == Some("0");
        let points: Vec<_> = document.descendants().filter(focusable).collect();
        assert!(!points.is_empty(), "{name}");
        for point in points {
            let title = child_text(point, "title").unwrap();
            assert!(!title.is_empty(), "{name}");
            assert_eq!(point.attribute("aria-label"), Some(title), "{name}");
            assert_eq!(point.attribute("role"), Some("img"), "{name}");
        }
    }
}

#[test]
fn drawings_are_small_and_can_be_read_on_a_phone() {
    for system in SYSTEMS {
        for (name, drawing) in all(system) {
            assert!(drawing.svg.len() < 15_000, "{name}: {}", drawing.svg.len());
            let own = format!("width=\"{}\"", (drawing.width * 10.0).round() / 10.0);
            assert!(drawing.svg.contains(&own), "{name}");
            if !name.starts_with("scene") {
                assert!(drawing.least_width() <= 600.0, "{name}");
            }
            let document = Document::parse(&drawing.svg).unwrap();
            let sizes = document
                .descendants()
                .filter_map(|n| n.attribute("font-size"));
            for size in sizes {
                let shown = size.parse::<f64>().unwrap() * drawing.least_width() / drawing.width;
                assert!(shown >= 11.0, "{name}: {shown}");
            }
        }
    }
}

#[test]
fn a_profile_ties_every_point_to_its_part() {
    let book = demo();
    for line in book.line.keys() {
        let (layout, answer) = solved(&book, line);
        let drawing = picture::profile(&layout, &answer, System::Us);
        let document = Document::parse(&drawing.svg).unwrap();
        let points = document
            .descendants()
            .filter(|n| n.attribute("class") == Some("point"));
        let places: Vec<&str> = points.map(|n| n.attribute("data-place").unwrap()).collect();
        assert!(places.contains(&"pump outlet"), "{line}");
        for part in &answer.parts {
            let drawn = part.pressure_in.is_none() || places.contains(&part.place.as_str());
            assert!(drawn, "{line}: {}", part.place);
        }
        assert!(!drawing.svg.contains("data-line"), "{line}");
    }
    let conditions = Conditions {
        also: vec![book::Opened {
            line: "right-crosslay".into(),
            ..Default::default()
        }],
        ..Default::default()
    };
    let layout = book::layout(&book, "left-crosslay", &conditions).unwrap();
    let answer = study::solve(&book, "left-crosslay", &conditions).unwrap();
    let drawing = picture::profile(&layout, &answer, System::Us);
    assert!(
        drawing
            .svg
            .contains("data-place=\"part 2\" data-line=\"right-crosslay\"")
    );
}

fn tags<'a>(document: &'a Document<'a>, tag: &'a str, class: &'a str) -> Vec<Node<'a, 'a>> {
    let found = document.descendants().filter(move |n| n.has_tag_name(tag));
    found
        .filter(move |n| n.attribute("class") == Some(class))
        .collect()
}

#[test]
fn regress_a_window_past_the_good_stream_says_that_it_does_little_good() {
    let stream = Stream::new(Length::of_si(0.025), psi(50.0), Quality::Solid);
    let reach = stream.effective_reach();
    let said = |distance: Length| {
        let height = stream.height_at(distance).unwrap();
        let half = Length::of_si(0.6);
        let (sill, head) = (height - half, height + half);
        let window = Window {
            distance,
            sill,
            head,
        };
        picture::stream("tip", &stream, Some(&window), System::Us).caption
    };
    let good = hydraulics::units::show(hydraulics::units::Kind::Length, reach, System::Us);
    let past = said(reach + Length::of_si(0.5));
    assert!(past.contains("It enters the window"), "{past}");
    let words = format!(", past the good stream at {good}: little of it will do any good there.");
    assert!(past.ends_with(&words), "{past}");
    let near = said(reach - Length::of_si(0.5));
    assert!(
        near.contains("It enters the window") && !near.contains("past the good"),
        "{near}"
    );
}

#[test]
fn a_building_has_a_window_on_every_storey_and_stands_as_high_as_the_stream() {
    let stream = Stream::new(Length::of_si(0.025), psi(50.0), Quality::Solid);
    let at = |distance: f64, sill: f64| Window {
        distance: Length::of_si(distance),
        sill: Length::of_si(sill),
        head: Length::of_si(sill + 1.2),
    };
    // Storeys of 3 m, sills 0.9 m above them. A window on the third floor has two
    // below it and one above; one on the ground has as many above it as the stream
    // is storeys up there.
    let low = at(14.0, 0.9);
    let Strike::Above(up) = stream.at_window(low.distance, low.sill, low.head) else {
        unreachable!("the stream comes to the wall above the window");
    };
    assert!(up.value > 6.0, "{up:?}");
    let above = (up.value / 3.0).floor() as usize;
    for (window, others) in [(at(12.0, 6.9), 3), (low, above), (at(200.0, 0.4), 1)] {
        let drawing = picture::stream("tip", &stream, Some(&window), System::Us);
        let document = Document::parse(&drawing.svg).unwrap();
        assert_eq!(tags(&document, "rect", "box").len(), others, "{window:?}");
        assert_eq!(tags(&document, "path", "hot").len(), 2, "{window:?}");
    }
}

#[test]
fn regress_a_flat_allowance_is_no_spike_in_the_operating_diagram() {
    // Past a monitor with a flat allowance the curve fell by 25 psi at once.
    let book = demo();
    for line in ["monitor", "standpipe", "left-crosslay"] {
        let (layout, answer) = solved(&book, line);
        let drawing = picture::operating(&layout, &answer, System::Us).unwrap();
        let document = Document::parse(&drawing.svg).unwrap();
        let curve = tags(&document, "path", "main");
        let way = curve[0].attribute("d").unwrap();
        let spots = way.trim_start_matches('M').split('L');
        let ups = spots.map(|spot| spot.split_once(' ').unwrap().1.parse::<f64>().unwrap());
        let ups: Vec<f64> = ups.collect();
        assert!(ups[1] - ups[0] < 5.0, "{line}: {ups:?}");
    }
}

/// Every title of a drawing.
fn titles(drawing: &Drawing) -> Vec<String> {
    let document = Document::parse(&drawing.svg).unwrap();
    let titles = document.descendants().filter(|n| n.has_tag_name("title"));
    titles
        .filter_map(|n| n.text().map(str::to_string))
        .collect()
}

#[test]
fn titles_state_the_figures_of_the_answer() {
    let book = demo();
    for system in SYSTEMS {
        for line in book.line.keys() {
            let (layout, answer) = solved(&book, line);
            let said = titles(&picture::profile(&layout, &answer, system));
            let pump = show(Kind::Pressure, answer.pump_pressure, system);
            assert!(said.iter().any(|t| t.starts_with(&format!("Pump: {pump}"))));
            for tip in &answer.tips {
                let (flow, pressure) = (
                    show(Kind::Flow, tip.flow, system),
                    show(Kind::Pressure, tip.tip_pressure, system),
                );
                let both = format!("{}: {flow} at {pressure}", tip.nozzle);
                assert!(said.iter().any(|t| t.contains(&both)), "{line}: {both}");
                if let Some(drawing) = picture::operating(&layout, &answer, system) {
                    let said = titles(&drawing);
                    let start = format!("Operating point: {flow}, ");
                    assert!(said.iter().any(|t| t.starts_with(&start)), "{line}");
                }
            }
        }
        for scene in book.scene.keys() {
            let answer = study::solve_scene(&book, scene, &Default::default()).unwrap();
            let said = titles(&picture::scene(&answer, system));
            for outlet in answer.rigs.iter().flat_map(|rig| &rig.outlets) {
                let flow = show(Kind::Flow, outlet.flow, system);
                assert!(said.iter().any(|t| t.contains(&flow)), "{scene}: {flow}");
            }
            for tip in &answer.tips {
                let both = format!(
                    "{} at {}",
                    show(Kind::Flow, tip.flow, system),
                    show(Kind::Pressure, tip.tip_pressure, system)
                );
                assert!(said.iter().any(|t| t.contains(&both)), "{scene}: {both}");
            }
        }
    }
}

#[test]
fn law_curves_of_the_pump_side_and_the_nozzle_meet_at_the_answer() {
    let book = demo();
    let mut seen = 0;
    for line in book.line.keys() {
        let (layout, answer) = solved(&book, line);
        let Some(tip) = answer.tips.first() else {
            continue;
        };
        let Some((given, taken)) = study::at_tip(&layout, answer.pump_pressure, tip.flow) else {
            continue;
        };
        seen += 1;
        assert!((given - taken).value.abs() < 100.0, "{line}");
        let inlet = answer.parts.last().unwrap().pressure_in.unwrap();
        assert!((given - inlet).value.abs() < 100.0, "{line}");
    }
    assert!(seen > 5);
}

#[test]
fn law_a_value_maps_to_its_pixel_and_back() {
    let up = Scale {
        low: -20.0,
        high: 250.0,
        from: 420.0,
        to: 52.0,
    };
    for value in [-20.0, 0.0, 33.3, 250.0, 400.0] {
        assert!((up.value(up.at(value)) - value).abs() < 1e-9);
    }
    assert_eq!(up.at(-20.0), 420.0);
    assert_eq!(up.at(250.0), 52.0);
}

#[test]
fn law_ticks_are_round_rise_and_enclose() {
    for (low, high) in [
        (0.0, 7.3),
        (0.0, 162.0),
        (-3.0, 12.0),
        (0.0, 0.04),
        (0.0, 9000.0),
    ] {
        let ticks = ticks(low, high, 6);
        assert!(ticks[0] <= low && *ticks.last().unwrap() >= high);
        assert!((2..=9).contains(&ticks.len()), "{ticks:?}");
        assert!(ticks.windows(2).all(|two| two[1] > two[0]));
    }
}

#[test]
fn tick_labels_carry_the_unit_in_both_systems() {
    for (system, unit) in [(System::Us, "psi"), (System::Si, "bar")] {
        let axis = Axis::new(
            ("Pressure", Kind::Pressure, system),
            (0.0, 11.0),
            (400.0, 50.0),
        );
        let labels = axis.labels();
        assert!(labels.last().unwrap().ends_with(&format!(" {unit}")));
        assert_eq!(axis.titled(), format!("Pressure ({unit})"));
        let test = FlowTest::new(psi(70.0), psi(50.0), gpm(1000.0)).unwrap();
        let svg = picture::tested("corner", &test, system).svg;
        let flow = Kind::Flow.unit(system).symbol;
        for unit in [unit, flow] {
            assert!(svg.contains(&format!(" {unit}</text>")), "{unit}");
        }
    }
}

/// A scene of `lines` lines off two rigs in relay, under a name with any letters.
fn crowded(lines: usize, name: &str) -> Book {
    let quoted = |text: &str| format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""));
    let key = quoted(name);
    let mut text = format!(
        "[book]\nname = \"Many\"\n[rig.first]\npump = \"3000 gpm\"\n[rig.{key}]\npump = \"3000 gpm\"\n\
         [hydrant.{key}]\nstatic = \"90 psi\"\nresidual = \"80 psi\"\nflow = \"3000 gpm\"\n\
         [hydrant.other]\nstatic = \"90 psi\"\nresidual = \"80 psi\"\nflow = \"3000 gpm\"\n"
    );
    for n in 0..lines {
        let line = quoted(&format!("{name} {n} with a name that goes on"));
        let _ = write!(
            text,
            "[line.{line}]\nparts = [{{ hose = \"1.75 in\", length = \"{} ft\" }}, \
             {{ nozzle = \"7/8 in smooth bore\" }}]\n",
            100 + 5 * n
        );
    }
    let listed = |from: usize, to: usize| {
        let line = |n| quoted(&format!("{name} {n} with a name that goes on"));
        let line = |n| format!("{{ line = {} }}", line(n));
        (from..to).map(line).collect::<Vec<_>>().join(", ")
    };
    let hose = "parts = [{ hose = \"5 in\", length = \"100 ft\" }]";
    let half = lines / 2;
    let _ = write!(
        text,
        "[scene.{key}]\n[scene.{key}.rig.first]\nintake = [{{ hydrant = {key}, {hose} }}]\nlines = [{}]\n\
         [scene.{key}.rig.{key}]\nintake = [{{ rig = \"first\", {hose} }}, {{ hydrant = \"other\", {hose} }}]\n\
         lines = [{}]\n",
        listed(0, half),
        listed(half, lines)
    );
    book::read(text.as_bytes(), "many.toml").unwrap()
}

/// The boxes of the level texts of a drawing, by an estimate of their width.
fn text_boxes(drawing: &Drawing) -> Vec<(f64, f64, f64, f64, String)> {
    let document = Document::parse(&drawing.svg).unwrap();
    let texts = document.descendants().filter(|n| n.has_tag_name("text"));
    let level = texts.filter(|n| !n.has_attribute("transform"));
    level
        .map(|node| {
            let number = |name| node.attribute(name).unwrap().parse::<f64>().unwrap();
            let (x, y, size) = (number("x"), number("y"), number("font-size"));
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
        for b in boxes.iter().skip(index + 1) {
            if a.0 < b.1 && b.0 < a.1 && a.2 < b.3 && b.2 < a.3 {
                found.push(format!("{} / {}", a.4, b.4));
            }
        }
    }
    found
}

#[test]
fn no_texts_of_a_scene_of_forty_lines_overlap() {
    for system in SYSTEMS {
        let book = crowded(40, "harbour");
        let answer = study::solve_scene(&book, "harbour", &Default::default()).unwrap();
        assert_eq!(answer.tips.len(), 40);
        let drawing = picture::scene(&answer, system);
        assert_eq!(overlaps(&drawing), Vec::<String>::new());
        assert!(text_boxes(&drawing).len() > 200);
    }
}

#[test]
fn no_texts_of_the_demo_overlap() {
    for system in SYSTEMS {
        for (name, drawing) in all(system) {
            assert_eq!(overlaps(&drawing), Vec::<String>::new(), "{name}");
        }
    }
}

#[test]
fn hostile_names_are_escaped_and_kept() {
    for name in [
        "<script>alert('x')</script>",
        "\"quoted\" & 'so' > that < this",
        "]]> --> &amp; &#0;",
        "水 ÿ \u{301} \u{202e}backward",
    ] {
        let book = crowded(4, name);
        let answer = study::solve_scene(&book, name, &Default::default()).unwrap();
        let drawing = picture::scene(&answer, System::Us);
        let said = titles(&drawing);
        assert!(said.iter().any(|title| title.contains(name)), "{name}");
        assert!(!drawing.svg.contains("<script"));
        assert_eq!(overlaps(&drawing), Vec::<String>::new());
        let line = book.line.keys().next().unwrap();
        let (layout, answer) = solved(&book, line);
        for drawing in [
            picture::profile(&layout, &answer, System::Si),
            picture::operating(&layout, &answer, System::Si).unwrap(),
        ] {
            assert!(Document::parse(&drawing.svg).is_ok());
            assert!(!drawing.svg.contains("<script"));
        }
    }
}

#[test]
fn what_a_tip_has_of_its_aim_is_not_cut_in_either_system() {
    let book = demo();
    for system in SYSTEMS {
        let mut aims = 0;
        for scene in book.scene.keys() {
            let answer = study::solve_scene(&book, scene, &Default::default()).unwrap();
            let drawing = picture::scene(&answer, system);
            let document = Document::parse(&drawing.svg).unwrap();
            let texts = document.descendants().filter(|n| n.has_tag_name("text"));
            for text in texts.filter_map(|n| n.text()) {
                if text.starts_with("reach ") {
                    assert!(!text.ends_with('…'), "{scene}: {text}");
                    aims += usize::from(text.contains("aim m"));
                }
            }
        }
        assert!(aims > 0, "the demo has aims");
    }
}
