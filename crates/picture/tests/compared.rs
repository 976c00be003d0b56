//! Drawings of comparisons, read back as XML and held against their data.
#![allow(clippy::unwrap_used, clippy::panic)]

mod boxes;
mod compared_helper;

use book::comparison::AimKind;
use boxes::{keep, of, overlaps};
use compared_helper::*;
use hydraulics::units::{Measure, System, psi};
use picture::{Drawing, Over, days, overlaid, side_by_side, strips, trade_off, whose_doubt};
use roxmltree::{Document, Node};
use study::choose::{Bound, Choice, Chosen, Curve, Limit};

const SYSTEMS: [System; 2] = [System::Us, System::Si];

fn of_choices(
    name: &str,
    chosen: &Chosen,
    bounds: &[Bound],
    system: System,
) -> Vec<(String, Drawing)> {
    let mut all = Vec::new();
    for aims in [
        (AimKind::Reaction, AimKind::Flow),
        (AimKind::PumpPressure, AimKind::Reach),
        (AimKind::Kinds, AimKind::Weight),
        (AimKind::Price, AimKind::FlowAtLowPump),
    ] {
        let drawing = trade_off(chosen, bounds, aims, system);
        all.push((
            format!("trade {} {} {name}", aims.0.key(), aims.1.key()),
            drawing,
        ));
    }
    all.push((format!("side {name}"), side_by_side(chosen, &[], system)));
    all.push((format!("strips {name}"), strips(chosen, &[], system)));
    all
}

fn all(system: System) -> Vec<(String, Drawing)> {
    let mut all = Vec::new();
    for count in [0, 1, 2, 12, 200] {
        let chosen = chosen(count, &Style::default());
        all.extend(of_choices(&count.to_string(), &chosen, &limits(), system));
    }
    let long = Style {
        name: "an attack hose with a name that somebody typed out in full",
        code: "C1234567890",
        today: false,
        target: true,
    };
    all.extend(of_choices("long", &chosen(9, &long), &[], system));
    let doubted = doubted(5);
    for aim in [AimKind::Flow, AimKind::Reaction, AimKind::Weight] {
        let key = aim.key();
        all.push((format!("doubt {key}"), whose_doubt(&doubted, aim, system)));
        all.extend(days(&doubted, aim, &limits(), system).map(|d| (format!("days {key}"), d)));
    }
    let many = compared_helper::doubted(14);
    all.push((
        "doubt many".into(),
        whose_doubt(&many, AimKind::Flow, system),
    ));
    let found = line_curves();
    let named: Vec<(&str, &Curve)> = ["C1", "C12", "C107", "today", "C4", "C5", "C6", "C7", "C8"]
        .into_iter()
        .zip(&found)
        .collect();
    for over in [Over::Flow, Over::TipPressure, Over::Reaction] {
        for many in [0, 1, 4, 9] {
            let some = &named[..many.min(named.len())];
            let drawing = overlaid(
                "left crosslay",
                some,
                over,
                (&limits(), Some(psi(100.0))),
                system,
            );
            all.push((format!("overlaid {over:?} {many}"), drawing));
        }
    }
    all
}

#[test]
fn no_texts_overlap_or_run_over_the_edge() {
    for system in SYSTEMS {
        for (name, drawing) in all(system) {
            assert_eq!(
                overlaps(&drawing),
                Vec::<String>::new(),
                "{name} {system:?}"
            );
        }
    }
}

#[test]
fn every_drawing_is_xml_with_title_words_and_legible_text() {
    for system in SYSTEMS {
        for (name, drawing) in all(system) {
            keep(&format!("{name}-{system:?}"), &drawing);
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
            for row in &drawing.table.rows {
                assert_eq!(row.len(), drawing.table.head.len(), "{name}");
            }
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
            assert!(drawing.svg.len() < 150_000, "{name}: {}", drawing.svg.len());
        }
    }
}

#[test]
fn law_same_data_same_bytes() {
    for system in SYSTEMS {
        assert!(all(system) == all(system));
    }
}

/// From pixels to the values of an axis, by two of its written ticks: those whose text
/// is anchored so and stands in the band of pixels.
fn scale(document: &Document<'_>, anchor: &str, band: (f64, f64)) -> impl Fn(f64) -> f64 {
    let along = anchor == "middle";
    let texts = document.descendants().filter(|n| n.has_tag_name("text"));
    let ticks = texts.filter(|n| n.attribute("text-anchor") == Some(anchor));
    let ticks: Vec<(f64, f64)> = ticks
        .filter(|n| !n.has_attribute("transform") && (band.0..band.1).contains(&of(n, "y")))
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
    assert!(ticks.len() > 2, "{ticks:?}");
    let (first, last) = (ticks[0], ticks[ticks.len() - 1]);
    move |pixel| first.1 + (pixel - first.0) / (last.0 - first.0) * (last.1 - first.1)
}

fn points<'a>(document: &'a Document<'a>) -> Vec<Node<'a, 'a>> {
    let point = |node: &Node<'_, '_>| node.attribute("class") == Some("point");
    document.descendants().filter(point).collect()
}

fn with_class<'a>(node: &Node<'a, 'a>, class: &str) -> Vec<Node<'a, 'a>> {
    let has = |node: &Node<'_, '_>| node.attribute("class") == Some(class);
    node.descendants().filter(has).collect()
}

/// The numbers of a way.
fn numbers(node: &Node<'_, '_>) -> Vec<(f64, f64)> {
    let way = node.attribute("d").unwrap();
    let all: Vec<f64> = way
        .split(['M', 'L', 'Z', ' '])
        .filter_map(|text| text.parse().ok())
        .collect();
    all.chunks(2).map(|two| (two[0], two[1])).collect()
}

fn us(choice: &Choice, aim: AimKind) -> f64 {
    let found = choice.measured.iter().find(|m| m.aim == aim).unwrap();
    found.value.value(System::Us)
}

#[test]
fn every_choice_stands_at_its_two_values() {
    let aims = (AimKind::Reaction, AimKind::Flow);
    for count in [2, 12, 200] {
        let chosen = chosen(count, &Style::default());
        let drawing = trade_off(&chosen, &limits(), aims, System::Us);
        let document = Document::parse(&drawing.svg).unwrap();
        let bottom = of(&document.root_element(), "height") - 58.0;
        let x = scale(&document, "middle", (bottom + 10.0, bottom + 30.0));
        let y = scale(&document, "end", (100.0, bottom + 10.0));
        let marks = points(&document);
        assert_eq!(
            marks.len(),
            count + 1,
            "no two have the same values, and today's"
        );
        for choice in &chosen.choices {
            let mark = marks
                .iter()
                .find(|m| m.attribute("data-choice") == Some(&choice.code));
            let dot = with_class(mark.unwrap(), "full")[0];
            let (flow, reaction) = (us(choice, aims.1), us(choice, aims.0));
            assert!((x(of(&dot, "cx")) - reaction).abs() < 0.02, "{reaction}");
            assert!((y(of(&dot, "cy")) - flow).abs() < 0.06, "{flow}");
            assert!(
                mark.unwrap()
                    .attribute("aria-label")
                    .unwrap()
                    .contains(&choice.code)
            );
        }
    }
}

#[test]
fn the_steps_go_through_what_none_beats_in_the_two_aims() {
    let aims = (AimKind::Reaction, AimKind::Flow);
    let chosen = chosen(40, &Style::default());
    let drawing = trade_off(&chosen, &[], aims, System::Us);
    let document = Document::parse(&drawing.svg).unwrap();
    let mut steps = document
        .descendants()
        .filter(|n| n.attribute("class") == Some("thin"));
    let steps = numbers(&steps.rfind(|n| numbers(n).len() > 4).unwrap());
    for mark in points(&document) {
        let Some(dot) = with_class(&mark, "full").first().copied() else {
            continue;
        };
        let at = (of(&dot, "cx"), of(&dot, "cy"));
        let beaten = chosen.choices.iter().any(|other| {
            let code = mark.attribute("data-choice").unwrap();
            let this = chosen.choices.iter().find(|c| c.code == code).unwrap();
            us(other, aims.0) <= us(this, aims.0)
                && us(other, aims.1) >= us(this, aims.1)
                && other.code != code
        });
        assert_eq!(steps.contains(&at), !beaten, "{at:?}");
    }
    // Where flow is to come close to a value there is no better end.
    let target = Style {
        target: true,
        ..Style::default()
    };
    let drawing = trade_off(&compared_helper::chosen(40, &target), &[], aims, System::Us);
    assert!(!drawing.svg.contains(">best of these two<"));
    assert!(drawing.svg.contains(">better to the left<"));
    assert!(drawing.svg.contains("near what is asked for is better"));
}

#[test]
fn choices_with_the_same_values_share_a_mark_that_names_them() {
    let mut chosen = chosen(6, &Style::default());
    let same = chosen.choices[0].measured.clone();
    chosen
        .choices
        .iter_mut()
        .for_each(|c| c.measured = same.clone());
    let drawing = trade_off(&chosen, &[], (AimKind::Reach, AimKind::Flow), System::Si);
    let document = Document::parse(&drawing.svg).unwrap();
    assert_eq!(points(&document).len(), 2);
    let first = &chosen.choices[0].code;
    let texts: Vec<&str> = document.descendants().filter_map(|n| n.text()).collect();
    assert!(
        texts.contains(&format!("{first} and 5 more").as_str()),
        "{texts:?}"
    );
    assert_eq!(drawing.table.rows.len(), 7);
}

#[test]
fn todays_carry_and_the_first_are_told_by_shape_and_words() {
    let mut chosen = chosen(12, &Style::default());
    let aims = (AimKind::Reaction, AimKind::Flow);
    let drawing = trade_off(&chosen, &[], aims, System::Us);
    let document = Document::parse(&drawing.svg).unwrap();
    let marks = points(&document);
    let of_code = |code: &str| {
        *marks
            .iter()
            .find(|m| m.attribute("data-choice") == Some(code))
            .unwrap()
    };
    let today = of_code("C400");
    assert!(with_class(&today, "full").is_empty() && with_class(&today, "hot").len() == 1);
    assert!(
        today
            .attribute("aria-label")
            .unwrap()
            .contains("carried today")
    );
    let first = of_code(&chosen.choices[0].code);
    assert_eq!(with_class(&first, "ring").len(), 1);
    assert!(
        first
            .attribute("aria-label")
            .unwrap()
            .contains("ranked 1 (attack, 200 ft, twin, high; ")
    );
    let robust = of_code(&chosen.choices[3].code);
    assert!(
        with_class(&robust, "ring")
            .iter()
            .all(|n| n.has_tag_name("rect"))
    );
    assert!(
        drawing
            .caption
            .contains("Today's is C400 with 48 lbf and 90 gpm"),
        "{}",
        drawing.caption
    );
    let figure = chosen.choices[0].measured[0].value;
    chosen.today.as_mut().unwrap().past = vec![(Limit::Flow, figure, figure)];
    let drawing = trade_off(&chosen, &[], aims, System::Us);
    assert!(drawing.svg.contains(">today, past a limit<"));
}

#[test]
fn limits_are_lines_at_their_numbers() {
    let drawing = trade_off(
        &chosen(12, &Style::default()),
        &limits(),
        (AimKind::Reaction, AimKind::Flow),
        System::Us,
    );
    let document = Document::parse(&drawing.svg).unwrap();
    let bottom = of(&document.root_element(), "height") - 58.0;
    let x = scale(&document, "middle", (bottom + 10.0, bottom + 30.0));
    let y = scale(&document, "end", (100.0, bottom + 10.0));
    let lines = with_class(&document.root_element(), "hot dash");
    let long: Vec<Vec<(f64, f64)>> = lines.iter().map(numbers).collect();
    let long: Vec<_> = long
        .into_iter()
        .filter(|l| (l[0].0 - l[1].0).hypot(l[0].1 - l[1].1) > 100.0)
        .collect();
    assert_eq!(long.len(), 2);
    assert!((x(long[0][0].0) - 95.0).abs() < 0.05 && long[0][0].0 == long[0][1].0);
    assert!((y(long[1][0].1) - 125.0).abs() < 0.1 && long[1][0].1 == long[1][1].1);
    assert!(drawing.svg.contains(">at most 95 lbf<") && drawing.svg.contains(">at least 125 gpm<"));
    assert!(
        drawing
            .caption
            .contains("Limits: reaction at most 95 lbf; flow at least 125 gpm.")
    );
}

#[test]
fn the_best_is_at_the_top_of_every_axis_and_the_worst_at_its_foot() {
    let mut chosen = chosen(12, &Style::default());
    chosen.today = None;
    let codes: Vec<String> = chosen.choices.iter().map(|c| c.code.clone()).collect();
    let mut seen = [0; 2];
    for four in codes.chunks(4) {
        let four: Vec<&str> = four.iter().map(String::as_str).collect();
        let drawing = side_by_side(&chosen, &four, System::Us);
        let document = Document::parse(&drawing.svg).unwrap();
        let axes: Vec<_> = with_class(&document.root_element(), "axis")
            .iter()
            .map(numbers)
            .filter(|w| w[0].0 == w[1].0)
            .collect();
        assert_eq!(axes.len(), 10);
        let (top, bottom) = (axes[0][0].1, axes[0][1].1);
        for point in points(&document) {
            let Some(dot) = with_class(&point, "full").first().copied() else {
                continue;
            };
            let code = point.attribute("data-choice").unwrap();
            let choice = chosen.choices.iter().find(|c| c.code == code).unwrap();
            let axis = axes.iter().position(|a| a[0].0 == of(&dot, "cx")).unwrap();
            let measured = &choice.measured[axis];
            let share = (bottom - of(&dot, "cy")) / (bottom - top);
            // How good it is, linear in the value, was worked out apart.
            assert!(
                (share - measured.good).abs() < 0.005,
                "{code} {axis} {share} {}",
                measured.good
            );
            seen[0] += usize::from(share == 1.0);
            seen[1] += usize::from(share == 0.0);
        }
    }
    assert!(seen[0] >= 10 && seen[1] >= 10, "{seen:?}");
}

#[test]
fn picked_choices_differ_in_dash_and_have_their_code_at_the_end() {
    let chosen = chosen(30, &Style::default());
    let picked: Vec<&str> = [2, 7, 11].map(|n| chosen.choices[n].code.as_str()).to_vec();
    let drawing = side_by_side(&chosen, &picked, System::Us);
    let document = Document::parse(&drawing.svg).unwrap();
    let classes = ["main whole", "main dash", "main dot", "hot far"];
    for class in classes {
        // Once across, once in the legend.
        assert_eq!(
            with_class(&document.root_element(), class).len(),
            2,
            "{class}"
        );
    }
    let texts: Vec<&str> = document.descendants().filter_map(|n| n.text()).collect();
    for code in picked.iter().chain(&["today"]) {
        assert!(texts.contains(code), "{code}");
        assert!(drawing.caption.contains(code), "{}", drawing.caption);
    }
    // The other 27 take the focus too.
    let others = points(&document)
        .into_iter()
        .filter(|p| !with_class(p, "lead").is_empty());
    assert_eq!(others.count(), 27);
    assert_eq!(drawing.table.rows.len(), 31);
    assert_eq!(drawing.table.head.len(), 12);
}

#[test]
fn bars_of_a_strip_are_as_long_as_the_values() {
    let chosen = chosen(12, &Style::default());
    let drawing = strips(&chosen, &[], System::Us);
    let document = Document::parse(&drawing.svg).unwrap();
    let bars = points(&document);
    assert_eq!(bars.len(), 50);
    // The first three, the fiveth, which holds on enough days, and today's.
    let all: Vec<&Choice> = chosen.choices.iter().take(4).chain(&chosen.today).collect();
    for (aim, five) in AimKind::ALL.into_iter().zip(bars.chunks(5)) {
        let lengths: Vec<f64> = five
            .iter()
            .map(|p| {
                of(
                    &p.children().find(|c| c.has_tag_name("rect")).unwrap(),
                    "width",
                )
            })
            .collect();
        let longest = lengths.iter().copied().fold(0.0, f64::max);
        let values: Vec<f64> = all.iter().map(|c| us(c, aim)).collect();
        let most = values.iter().copied().fold(0.0, f64::max);
        for (length, value) in lengths.iter().zip(&values) {
            let expected = (value / most).max(1.0 / longest);
            assert!(
                (length / longest - expected).abs() < 0.001,
                "{aim:?} {length} {value}"
            );
        }
        let best = values.iter().copied().fold(values[0], |a, b| {
            if aim.more_is_better() {
                a.max(b)
            } else {
                a.min(b)
            }
        });
        for (point, value) in five.iter().zip(&values) {
            assert_eq!(
                !with_class(point, "full").is_empty(),
                *value == best,
                "{aim:?}"
            );
            assert_eq!(
                point.attribute("aria-label").unwrap().ends_with("best"),
                *value == best
            );
        }
    }
    assert!(drawing.width <= 390.0);
}

#[test]
fn bars_of_doubt_run_from_low_to_high_the_longest_first() {
    let doubted = doubted(5);
    let drawing = whose_doubt(&doubted, AimKind::Flow, System::Us);
    let document = Document::parse(&drawing.svg).unwrap();
    let bottom = of(&document.root_element(), "height") - 62.0;
    let x = scale(&document, "middle", (bottom + 10.0, bottom + 30.0));
    let mut before = f64::INFINITY;
    let shares = &doubted.shares[0].1;
    for (point, share) in points(&document).iter().zip(shares) {
        assert!(
            point
                .attribute("aria-label")
                .unwrap()
                .starts_with(&share.name)
        );
        let ends = |class: &str| {
            let rect = with_class(point, class)[0];
            [x(of(&rect, "x")), x(of(&rect, "x") + of(&rect, "width"))]
        };
        let [low, high] = share.swing.map(|f| f.value(System::Us));
        let near = |ends: [f64; 2], value: f64| ends.iter().any(|e| (e - value).abs() < 0.02);
        // Each half goes from the middle of the days, 150 gpm, to its end.
        assert!(near(ends("box"), low) && near(ends("box"), 150.0), "{low}");
        assert!(
            near(ends("full"), high) && near(ends("full"), 150.0),
            "{high}"
        );
        assert!((high - low).abs() <= before);
        before = (high - low).abs();
    }
    let texts: Vec<&str> = document.descendants().filter_map(|n| n.text()).collect();
    assert!(
        texts.contains(&"62 % of the doubt alone, 66 % with others"),
        "{texts:?}"
    );
    let row = &drawing.table.rows[0];
    assert_eq!(
        row[..],
        [
            "C of attack",
            "159 gpm",
            "141 gpm",
            "62 % ± 2 %",
            "66 % ± 3 %"
        ]
    );
    assert!(
        drawing
            .caption
            .contains("from 10,000 days drawn: C of attack moves it most")
    );
}

#[test]
fn the_table_has_the_doubtful_things_for_which_there_is_no_room() {
    let drawing = whose_doubt(&doubted(14), AimKind::Flow, System::Us);
    let document = Document::parse(&drawing.svg).unwrap();
    assert_eq!(
        (points(&document).len(), drawing.table.rows.len()),
        (10, 14)
    );
    assert!(
        drawing.caption.ends_with("4 more move it less."),
        "{}",
        drawing.caption
    );
}

#[test]
fn law_the_bars_of_the_days_hold_all_days_and_the_limit_parts_them() {
    let doubted = doubted(3);
    let limit = Bound {
        figure: study::figure::flow(hydraulics::units::gpm(143.0)),
        ..limits()[1]
    };
    let drawing = days(&doubted, AimKind::Flow, &[limit], System::Us).unwrap();
    let document = Document::parse(&drawing.svg).unwrap();
    let bottom = of(&document.root_element(), "height") - 60.0;
    let x = scale(&document, "middle", (bottom + 10.0, bottom + 30.0));
    let y = scale(&document, "end", (120.0, bottom + 10.0));
    let mut all = 0.0;
    for point in points(&document) {
        let bar = with_class(&point, "box")[0];
        all += y(of(&bar, "y"));
        let (from, to) = (x(of(&bar, "x")), x(of(&bar, "x") + of(&bar, "width")));
        let dark = with_class(&point, "full");
        assert_eq!(dark.len(), usize::from(from < 142.99), "{from}");
        if let Some(dark) = dark.first() {
            let end = x(of(dark, "x") + of(dark, "width"));
            assert!((end - to.min(143.0)).abs() < 0.05, "{end} {to}");
        }
    }
    let drawn: u64 = doubted.over_days[0].histogram.counts.iter().sum();
    assert!((all - drawn as f64).abs() < 40.0, "{all} {drawn}");
    let rows = drawing
        .table
        .rows
        .iter()
        .map(|row| row[1].parse::<u64>().unwrap());
    assert_eq!(rows.sum::<u64>(), drawn);
    assert!(drawing.svg.contains(
        ">Limit, at least 143 gpm, holds on 97 % of days, give or take 0.3; filled: days on which it does not<"
    ));
    for (figure, words) in [
        (140.1, "5 % of days below 140 gpm"),
        (150.0, "half of days below 150 gpm"),
        (159.9, "95 % of days below 160 gpm"),
    ] {
        assert!(drawing.svg.contains(&format!(">{words}<")), "{words}");
        let marks = with_class(&document.root_element(), "main");
        assert!(
            marks
                .iter()
                .any(|m| (x(numbers(m)[0].0) - figure).abs() < 0.1),
            "{words}"
        );
    }
    assert!(days(&doubted, AimKind::Price, &[], System::Us).is_none());
}

#[test]
fn a_choice_that_misses_a_day_never_holds_on_all() {
    let mut doubted = doubted(1);
    doubted.holds[0].1 = 0.9999;
    let drawing = days(&doubted, AimKind::Flow, &limits(), System::Us).unwrap();
    assert!(drawing.svg.contains("holds on 99.9 % of days"));
}

#[test]
fn law_a_curve_meets_what_solve_says_and_stands_where_it_says() {
    let found = line_curves();
    let named: Vec<(&str, &Curve)> = ["C1", "C2", "C3", "C4"].into_iter().zip(&found).collect();
    let drawing = overlaid(
        "left",
        &named,
        Over::Flow,
        (&limits(), Some(psi(100.0))),
        System::Us,
    );
    let document = Document::parse(&drawing.svg).unwrap();
    let x = scale(&document, "middle", (430.0, 445.0));
    let y = scale(&document, "end", (40.0, 430.0));
    let ways = ["main whole", "main dash", "main dot", "main dashdot"];
    for ((class, (code, curve)), point) in ways.iter().zip(&named).zip(points(&document)) {
        let way = numbers(&with_class(&document.root_element(), class)[0]);
        assert_eq!(way.len(), curve.points.len());
        for (spot, known) in way.iter().zip(&curve.points) {
            let (pump, flow) = (known.pump_pressure, known.flow);
            assert!((x(spot.0) - pump.value / psi(1.0).value).abs() < 0.02);
            assert!((y(spot.1) - flow.value / hydraulics::units::gpm(1.0).value).abs() < 0.06);
        }
        assert!(point.attribute("aria-label").unwrap().starts_with(code));
        let solved = solved(&curve.of);
        assert!((solved.0 - curve.present.flow).value.abs() < 1e-9);
        assert!((solved.1 - curve.present.tip_pressure).value.abs() < 1.0);
        assert!((solved.2 - curve.present.reaction).value.abs() < 1e-6);
    }
    assert!(drawing.svg.contains(">ceiling: at most 175 psi<"));
    assert!(drawing.svg.contains(">low pump: 100 psi<"));
    let present = drawing
        .table
        .rows
        .iter()
        .filter(|row| row[3] == "as chosen");
    assert_eq!(present.count(), 4);
}

#[test]
fn choices_that_put_the_same_on_a_line_share_a_curve_and_keep_their_points() {
    let found = line_curves();
    let mut other = found[0].clone();
    other.of.pump_pressure = psi(120.0);
    other.present = other.points[10];
    let named = [("C1", &found[0]), ("C2", &found[1]), ("C9", &other)];
    let drawing = overlaid("left", &named, Over::Flow, (&[], None), System::Us);
    let document = Document::parse(&drawing.svg).unwrap();
    let root = document.root_element();
    assert_eq!(with_class(&root, "main whole").len(), 1);
    assert_eq!(with_class(&root, "main dash").len(), 1);
    assert!(with_class(&root, "main dot").is_empty());
    assert_eq!(points(&document).len(), 3);
    let texts: Vec<&str> = document.descendants().filter_map(|n| n.text()).collect();
    for words in ["C1, C9", "C2", "C1", "C9"] {
        assert!(texts.contains(&words), "{words}");
    }
}

#[test]
fn figures_that_are_no_numbers_leave_a_drawing() {
    let mut chosen = chosen(5, &Style::default());
    let nan = study::figure::flow(Measure::of_si(f64::NAN));
    let endless = study::figure::pressure(Measure::of_si(f64::INFINITY));
    chosen.choices[1].measured[0].value = nan;
    chosen.choices[2].measured[4].value = endless;
    chosen.choices[3].measured.clear();
    chosen.choices[4].measured[0].good = f64::NAN;
    let mut drawings = Vec::new();
    for aims in [
        (AimKind::Flow, AimKind::PumpPressure),
        (AimKind::Reach, AimKind::Flow),
    ] {
        drawings.push(trade_off(&chosen, &limits(), aims, System::Us));
    }
    drawings.push(side_by_side(&chosen, &[], System::Us));
    drawings.push(strips(&chosen, &[], System::Si));
    let mut doubted = doubted(4);
    doubted.shares[0].1[1].swing[0] = nan;
    doubted.shares[0].1[2].first = (f64::NAN, f64::INFINITY);
    doubted.over_days[0].quantiles[1] = nan;
    doubted.over_days[0].histogram.counts.clear();
    doubted.holds[0] = (Limit::Flow, f64::NAN, f64::NAN);
    drawings.push(whose_doubt(&doubted, AimKind::Flow, System::Us));
    drawings.push(days(&doubted, AimKind::Flow, &limits(), System::Us).unwrap());
    for drawing in drawings {
        assert!(Document::parse(&drawing.svg).is_ok());
        assert!(
            !drawing.svg.contains("NaN") && !drawing.svg.contains("inf"),
            "{}",
            drawing.caption
        );
    }
}

#[test]
fn hostile_names_are_escaped_and_kept() {
    for name in [
        "<script>alert('x')</script>",
        "\"quoted\" & 'so'",
        "]]> --> &amp;",
    ] {
        let mut chosen = chosen(3, &Style::default());
        chosen.choices[0].code = name.to_string();
        chosen.choices[0].on[0].hose = name.to_string();
        let mut doubted = doubted(2);
        doubted.shares[0].1[0].name = name.to_string();
        let found = line_curves();
        let all = [
            trade_off(&chosen, &[], (AimKind::Reach, AimKind::Flow), System::Us),
            side_by_side(&chosen, &[name], System::Us),
            strips(&chosen, &[], System::Us),
            whose_doubt(&doubted, AimKind::Flow, System::Us),
            overlaid(
                name,
                &[(name, &found[0])],
                Over::Flow,
                (&[], None),
                System::Us,
            ),
        ];
        for drawing in all {
            assert!(Document::parse(&drawing.svg).is_ok());
            assert!(
                !drawing.svg.contains("<script") && drawing.caption.contains(name),
                "{}",
                drawing.caption
            );
        }
    }
}

#[test]
fn points_take_the_focus_and_say_their_values() {
    for (name, drawing) in all(System::Us) {
        let document = Document::parse(&drawing.svg).unwrap();
        for point in points(&document) {
            assert_eq!(point.attribute("tabindex"), Some("0"), "{name}");
            assert_eq!(point.attribute("role"), Some("img"), "{name}");
            let title = point
                .children()
                .find(|c| c.has_tag_name("title"))
                .unwrap()
                .text();
            assert_eq!(point.attribute("aria-label"), title, "{name}");
            assert!(!title.unwrap_or_default().is_empty(), "{name}");
        }
    }
}
