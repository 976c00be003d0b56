//! Slide rules and alignment charts, read off as a person does: by places in the drawing.
#![allow(clippy::unwrap_used)]

use book::{Book, Conditions, Step};
use hydraulics::element::Element;
use hydraulics::hose::Run;
use hydraulics::units::{Kind, Length, Measure, Pressure, System, VolumeRate};
use picture::{Drawing, Nomogram, ROWS, SlideRule};
use roxmltree::{Document, Node};
use study::SlideChart;

fn demo() -> Book {
    let bytes = include_bytes!("../../../books/saltmarsh-bend.toml");
    book::read(bytes, "saltmarsh-bend.toml").unwrap()
}

fn plain(book: &str) -> Book {
    let text = format!("[book]\nname = 'Example'\n{book}");
    book::read(text.as_bytes(), "example.toml").unwrap()
}

/// Random numbers between 0 and 1, the same each time.
struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.roll()
    }
}

fn si(kind: Kind, value: f64, system: System) -> f64 {
    kind.unit(system).to_si(value)
}

/// A scale as it stands in a drawing: values and the places of their marks, in pixels.
#[derive(Debug)]
struct Printed(Vec<(f64, f64)>);

impl Printed {
    /// The marks of the groups that have all of `data`. `across` for scales along x.
    fn read(document: &Document<'_>, data: &[(&str, &str)], across: bool) -> Printed {
        let all = document.descendants();
        let group = |node: &Node<'_, '_>| {
            data.iter().all(|(name, value)| {
                node.attribute(format!("data-{name}").as_str()) == Some(*value)
            })
        };
        let mut marks: Vec<(f64, f64)> = Vec::new();
        for node in all.filter(group) {
            for mark in node.descendants().filter(|n| n.has_attribute("data-value")) {
                let value = mark.attribute("data-value").unwrap();
                let path = mark.descendants().find(|n| n.has_tag_name("path")).unwrap();
                let (x, y) = first_spot(path);
                marks.push((value.parse().unwrap(), if across { x } else { y }));
            }
        }
        marks.sort_by(|a, b| a.0.total_cmp(&b.0));
        assert!(marks.len() > 1, "{data:?}: {marks:?}");
        Printed(marks)
    }

    /// The two marks next to a value, or next to a place.
    fn next_to(&self, key: f64, of: fn(&(f64, f64)) -> f64) -> ((f64, f64), (f64, f64)) {
        let two = self.0.windows(2).find(|two| {
            let (a, b) = (of(&two[0]), of(&two[1]));
            (a.min(b)..=a.max(b)).contains(&key)
        });
        let two = two.unwrap_or_else(|| {
            let ends = [0, self.0.len() - 2].map(|n| &self.0[n..n + 2]);
            let off = |two: &[(f64, f64)]| (of(&two[0]) - key).abs().min((of(&two[1]) - key).abs());
            if off(ends[0]) < off(ends[1]) {
                ends[0]
            } else {
                ends[1]
            }
        });
        (two[0], two[1])
    }

    /// Where a value lies, as far between its neighbours as `bent` says.
    fn place(&self, value: f64, bent: fn(f64) -> f64) -> f64 {
        let (a, b) = self.next_to(value, |mark| mark.0);
        a.1 + (b.1 - a.1) * (bent(value) - bent(a.0)) / (bent(b.0) - bent(a.0))
    }

    /// What is read at a place on an even scale.
    fn even(&self, place: f64) -> f64 {
        let (a, b) = self.next_to(place, |mark| mark.1);
        a.0 + (b.0 - a.0) * (place - a.1) / (b.1 - a.1)
    }

    /// The same on a scale by tens.
    fn by_tens(&self, place: f64) -> f64 {
        let (a, b) = self.next_to(place, |mark| mark.1);
        a.0 * (b.0 / a.0).powf((place - a.1) / (b.1 - a.1))
    }

    fn ends(&self) -> (f64, f64) {
        (self.0[0].0, self.0[self.0.len() - 1].0)
    }
}

fn first_spot(path: Node<'_, '_>) -> (f64, f64) {
    spots(path)[0]
}

fn spots(path: Node<'_, '_>) -> Vec<(f64, f64)> {
    let way = path.attribute("d").unwrap();
    let pairs = way.split(['M', 'L', 'Z']).filter(|pair| !pair.is_empty());
    let pair = |pair: &str| {
        let (x, y) = pair.split_once(' ').unwrap();
        (x.parse().unwrap(), y.parse().unwrap())
    };
    pairs.map(pair).collect()
}

/// A paper slide rule, cut out.
struct CutOut {
    arrow: f64,
    rise: Printed,
    lengths: Vec<Printed>,
    pressures: Vec<Printed>,
}

impl CutOut {
    fn of(rule: &SlideRule, rows: usize, (first, scale): (System, System)) -> CutOut {
        let sleeve = Document::parse(&rule.sleeve.svg).unwrap();
        let slide = Document::parse(&rule.slide.svg).unwrap();
        let unit = |kind: Kind, system| kind.unit(system).symbol;
        let arrow = sleeve
            .descendants()
            .find(|n| n.has_attribute("data-arrow"))
            .unwrap();
        let arrow = arrow
            .descendants()
            .find(|n| n.has_tag_name("path"))
            .unwrap();
        let marks = slide.descendants().filter(|n| n.has_attribute("data-rise"));
        let marks = marks.filter(|n| n.attribute("data-unit") == Some(unit(Kind::Length, scale)));
        let mut rise: Vec<(f64, f64)> = marks
            .map(|n| {
                let path = n.descendants().find(|n| n.has_tag_name("path")).unwrap();
                (
                    n.attribute("data-rise").unwrap().parse().unwrap(),
                    first_spot(path).0,
                )
            })
            .collect();
        rise.sort_by(|a, b| a.0.total_cmp(&b.0));
        let scales = |document: &Document<'_>, name, unit| -> Vec<Printed> {
            let rows = (0..rows).map(|row| {
                let row = row.to_string();
                Printed::read(
                    document,
                    &[("scale", name), ("row", &row), ("unit", unit)],
                    true,
                )
            });
            rows.collect()
        };
        CutOut {
            arrow: first_spot(arrow).0,
            rise: Printed(rise),
            lengths: scales(&slide, "length", unit(Kind::Length, first)),
            pressures: scales(&sleeve, "pressure", unit(Kind::Pressure, scale)),
        }
    }

    /// Sets the rise at the arrow and reads the pressure at the length, in the units of
    /// the scales.
    fn read(&self, row: usize, length: f64, rise: f64) -> f64 {
        let moved = self.arrow - self.rise.place(rise, |v| v);
        self.pressures[row].even(self.lengths[row].place(length, |v| v) + moved)
    }
}

fn rule(book: &Book, line: &str, first: System, second: Option<System>) -> (SlideChart, SlideRule) {
    let most = if second.is_some() { ROWS.1 } else { ROWS.0 };
    let chart = study::slide_chart(book, line, first, most).unwrap();
    let rule = picture::slide_rule(&chart, "A line", first, second);
    (chart, rule)
}

/// The flow that `solve` answers when the pump holds `pressure`, the slide set so.
fn flow_at(
    book: &Book,
    chart: &SlideChart,
    row: usize,
    (length, rise): (f64, f64),
    pressure: f64,
) -> f64 {
    let mut conditions = Conditions {
        pump_pressure: Some(Pressure::of_si(pressure)),
        ..Conditions::default()
    };
    let hose = conditions
        .changes
        .entry(chart.place.parse().unwrap())
        .or_default();
    hose.extra_length = Some(Length::of_si(length) - chart.carried);
    let tip = study::tips_of(book, &chart.line).unwrap().remove(0);
    assert!(matches!(tip.0.last(), Some(Step::Part(_))));
    let tip = conditions.changes.entry(tip).or_default();
    tip.extra_rise = Some(Length::of_si(rise) - chart.rise);
    tip.setting = chart.rows[row].setting.clone();
    let answer = study::solve(book, &chart.line, &conditions).unwrap();
    assert!(answer.converged);
    answer.flow.value
}

/// An automatic, a selectable, a fixed nozzle and two smooth bores, one past a standpipe.
const LINES: [&str; 5] = [
    "left-crosslay",
    "bumper",
    "rear-crosslay",
    "large",
    "standpipe",
];

#[test]
fn law_a_slide_rule_reads_what_solve_answers() {
    let book = demo();
    let ways = [
        (System::Us, None, System::Us),
        (System::Si, None, System::Si),
        (System::Us, Some(System::Si), System::Si),
    ];
    for (first, second, scale) in ways {
        for line in LINES {
            let (chart, rule) = rule(&book, line, first, second);
            let paper = CutOut::of(&rule, chart.rows.len(), (first, scale));
            let error = rule.half_millimetre.value;
            let mut dice = Dice(7);
            let mut tried = 0;
            while tried < 100 {
                let row = (dice.roll() * chart.rows.len() as f64) as usize;
                let (shortest, longest) = paper.lengths[row].ends();
                // On a mark every third time.
                let length = match tried % 3 {
                    0 => {
                        paper.lengths[row].0
                            [(dice.roll() * paper.lengths[row].0.len() as f64) as usize]
                            .0
                    }
                    _ => dice.between(shortest, longest),
                };
                let (lowest, highest) = paper.rise.ends();
                let rise = dice.between(lowest, highest);
                let read = paper.read(row, length, rise);
                let (low, high) = paper.pressures[row].ends();
                if !(low..=high).contains(&read) {
                    continue;
                }
                tried += 1;
                let read = si(Kind::Pressure, read, scale);
                let length = si(Kind::Length, length, first);
                let rise = si(Kind::Length, rise, scale);
                let flow = |pressure| flow_at(&book, &chart, row, (length, rise), pressure);
                let wanted = chart.rows[row].flow.value;
                let (less, more) = (flow(read - error), flow(read + error));
                assert!(
                    less < wanted && wanted < more,
                    "{line}, row {row}, {length} m, {rise} m up: {read} Pa gives {less} to {more}, not {wanted}"
                );
            }
        }
    }
}

#[test]
fn law_rise_takes_the_same_pressure_at_every_flow_and_length() {
    let book = demo();
    let (chart, _) = rule(&book, "left-crosslay", System::Us, None);
    let mut dice = Dice(3);
    for row in &chart.rows {
        let length = Length::of_si(dice.between(10.0, 150.0));
        let rise = Length::of_si(dice.between(-10.0, 30.0));
        let at = |rise| {
            let asked = (row.flow, row.setting.as_deref());
            study::pressure_for(&book, "left-crosslay", asked, (length, rise))
                .unwrap()
                .unwrap()
        };
        let taken = at(rise) - at(Length::of_si(0.0));
        assert!(
            (taken.value - chart.head.value * rise.value).abs() < 1.0,
            "{taken:?}"
        );
    }
}

#[test]
fn book_a_slide_rule_reads_published_friction() {
    // Checks FL-U-01, FL-U-04 and SRC-02 (seen; driver/operator lesson 3-8, City of
    // Rohnert Park, and Florida practice notes): C 2, 200 gpm in 100 and 300 ft loses 8
    // and 24 psi; 300 gpm in 200 ft 36. Past a nozzle rated at each flow.
    for (flow, length, loss) in [(200, 100.0, 8.0), (200, 300.0, 24.0), (300, 200.0, 36.0)] {
        let book = plain(&format!(
            "[hose.printed]\nsize = '2.5 in'\ncoefficient = 2\nsource = 'printed'\n\
             [nozzle.rated]\nkind = 'fixed'\nflow = '{flow} gpm'\npressure = '100 psi'\n\
             [line.a]\nparts = [{{ hose = 'printed', length = '100 ft' }}, {{ nozzle = 'rated' }}]\naim = {{ flow = '{flow} gpm' }}\n"
        ));
        let (chart, rule) = rule(&book, "a", System::Us, None);
        let paper = CutOut::of(&rule, chart.rows.len(), (System::Us, System::Us));
        let row = chart.rows.iter().position(|row| row.aim).unwrap();
        let error = Kind::Pressure
            .unit(System::Us)
            .from_si(rule.half_millimetre.value);
        let read = paper.read(row, length, 0.0) - 100.0;
        // The print is rounded to whole psi.
        assert!(
            (read - loss).abs() <= 0.5 + error,
            "{flow} gpm, {length} ft: {read}"
        );
        // EL-01 (seen; Honolulu course notes): 100 ft take 43.4 psi; water itself 43.3.
        let up = paper.read(row, length, 50.0) - paper.read(row, length, 0.0);
        assert!((up - 21.7).abs() <= 0.1 + error, "{up}");
    }
}

/// Every text of a drawing: left, right, top, bottom.
fn text_boxes(drawing: &Drawing) -> Vec<(f64, f64, f64, f64, String)> {
    let document = Document::parse(&drawing.svg).unwrap();
    let texts = document.descendants().filter(|n| n.has_tag_name("text"));
    let mut boxes = Vec::new();
    for node in texts {
        let number = |name: &str| node.attribute(name).unwrap().parse::<f64>().unwrap();
        let text = node.text().unwrap_or_default();
        let (x, y, size) = (number("x"), number("y"), number("font-size"));
        let wide = picture::text::width(text, size);
        let (left, top, wide, high) = match node.attribute("transform") {
            Some(_) => (x - 0.8 * size, y - 0.5 * wide, size, wide),
            None => {
                let left = match node.attribute("text-anchor").unwrap() {
                    "start" => x,
                    "middle" => x - 0.5 * wide,
                    _ => x - wide,
                };
                (left, y - 0.75 * size, wide, 0.8 * size)
            }
        };
        boxes.push((left, left + wide, top, top + high, text.to_string()));
    }
    boxes
}

fn assert_clear(name: &str, drawing: &Drawing) {
    let document = Document::parse(&drawing.svg).unwrap();
    let side = |name: &str| {
        document
            .root_element()
            .attribute(name)
            .unwrap()
            .parse::<f64>()
            .unwrap()
    };
    let (width, height) = (side("width"), side("height"));
    let boxes = text_boxes(drawing);
    for (n, a) in boxes.iter().enumerate() {
        let inside = a.0 >= 0.0 && a.1 <= width && a.2 >= 0.0 && a.3 <= height;
        assert!(
            inside,
            "{name}: {} at {} to {}, {} to {}",
            a.4, a.0, a.1, a.2, a.3
        );
        for b in &boxes[n + 1..] {
            let meet = a.0 < b.1 && b.0 < a.1 && a.2 < b.3 && b.2 < a.3;
            assert!(!meet, "{name}: \"{}\" lies on \"{}\"", a.4, b.4);
        }
    }
}

fn every_way() -> [(System, Option<System>); 3] {
    [
        (System::Us, None),
        (System::Si, None),
        (System::Us, Some(System::Si)),
    ]
}

#[test]
fn texts_of_slide_rules_and_nomograms_keep_clear() {
    let book = demo();
    let long = "Vordere Schnellangriffsleitung mit einem Namen, der kein Ende nimmt, WWWWWWWWWW";
    for (first, second) in every_way() {
        let most = if second.is_some() { ROWS.1 } else { ROWS.0 };
        for line in book.line.keys() {
            let Ok(chart) = study::slide_chart(&book, line, first, most) else {
                continue;
            };
            let rule = picture::slide_rule(&chart, long, first, second);
            assert_clear(line, &rule.sleeve);
            assert_clear(line, &rule.slide);
        }
        for hose in study::hoses(&book) {
            let chart = nomogram(&book, hose, (first, second));
            assert_clear(hose, &chart.drawing);
        }
    }
}

#[test]
fn a_line_without_a_slide_rule_says_why() {
    let book = demo();
    for (line, why) in [
        ("apartment", "2 tips"),
        ("foam", "eductor"),
        ("monitor", "legs"),
    ] {
        let error = study::slide_chart(&book, line, System::Us, 8).unwrap_err();
        assert!(error.to_string().contains(why), "{line}: {error}");
    }
}

fn nomogram(book: &Book, hose: &str, (first, second): (System, Option<System>)) -> Nomogram {
    let nozzles = study::nozzles_on(book, hose);
    picture::nomogram(book, hose, &nozzles, first, second).unwrap()
}

/// The loss that a straight edge reads, in the units of `system`.
fn straight_edge(chart: &Nomogram, system: System, (length, flow): (f64, f64)) -> Option<f64> {
    let document = Document::parse(&chart.drawing.svg).unwrap();
    let scale = |kind: Kind| {
        let unit = kind.unit(system).symbol;
        let data = [("scale", kind.name()), ("unit", unit)];
        let printed = Printed::read(&document, &data, false);
        let group = document.descendants().find(|n| {
            n.attribute("data-scale") == Some(kind.name()) && n.attribute("data-unit") == Some(unit)
        });
        let marks = group
            .unwrap()
            .descendants()
            .filter(|n| n.has_attribute("data-value"));
        let path = marks
            .flat_map(|n| n.descendants())
            .find(|n| n.has_tag_name("path"));
        (first_spot(path.unwrap()).0, printed)
    };
    let (lengths, flows, losses) = (
        scale(Kind::Length),
        scale(Kind::Flow),
        scale(Kind::Pressure),
    );
    let (from, to) = (
        lengths.1.place(length, f64::ln),
        flows.1.place(flow, f64::ln),
    );
    let crossed = from + (to - from) * (losses.0 - lengths.0) / (flows.0 - lengths.0);
    let read = losses.1.by_tens(crossed);
    let (low, high) = losses.1.ends();
    (low..=high).contains(&read).then_some(read)
}

#[test]
fn law_a_straight_edge_reads_the_friction_loss() {
    let mut book = demo();
    let rough = plain(
        "[hose.rough]\nsize = '45 mm'\nbore = '46 mm'\nroughness = '0.1 mm'\nsource = 'x'\n\
        [hose.lined]\nsize = '3 in'\nbore = '3 in'\nhazen_williams = 135\nsource = 'x'\n",
    );
    book.hose.extend(rough.hose);
    for hose in ["attack", "large", "supply", "neighbour", "rough", "lined"] {
        let used = book.friction(hose, Default::default()).unwrap();
        for (first, second) in every_way() {
            let chart = nomogram(&book, hose, (first, second));
            let system = second.unwrap_or(first);
            let mut dice = Dice(11);
            let mut tried = 0;
            while tried < 100 {
                let length = dice.between(chart.lengths.0.value, chart.lengths.1.value);
                let flow = dice.between(chart.flows.0.value, chart.flows.1.value);
                let asked = (
                    Kind::Length.unit(system).from_si(length),
                    Kind::Flow.unit(system).from_si(flow),
                );
                let Some(read) = straight_edge(&chart, system, asked) else {
                    continue;
                };
                tried += 1;
                let run = Run::new(used.friction, Length::of_si(length), book.water()).unwrap();
                let loss = run.loss(VolumeRate::of_si(flow)).pressure.value;
                let read = si(Kind::Pressure, read, system);
                let off = (read / loss - 1.0).abs();
                assert!(
                    off <= chart.half_millimetre.value,
                    "{hose}: {read} for {loss}"
                );
            }
        }
    }
}

#[test]
fn book_a_nomogram_reads_published_friction() {
    // Checks FL-U-04 (seen): C 2, 300 gpm, 200 ft: 36 psi. FL-M-004 (seen; Quebec pump
    // operator's table): C 24.6 metric, 209 L/min, 30 m: 32 kPa.
    let book = plain(
        "[hose.us]\nsize = '2.5 in'\ncoefficient = 2\nsource = 'printed'\n\
         [hose.metric]\nsize = '45 mm'\ncoefficient = '24.6 metric'\nsource = 'printed'\n",
    );
    let chart = nomogram(&book, "us", (System::Us, None));
    let read = straight_edge(&chart, System::Us, (200.0, 300.0)).unwrap();
    assert!(
        (read - 36.0).abs() <= 0.5 + 36.0 * chart.half_millimetre.value,
        "{read}"
    );
    let chart = nomogram(&book, "metric", (System::Si, None));
    let read = 100.0 * straight_edge(&chart, System::Si, (30.0, 209.0)).unwrap();
    assert!(
        (read - 32.0).abs() <= 0.65 + 32.0 * chart.half_millimetre.value,
        "{read}"
    );
}

#[test]
fn law_a_ladder_stands_at_the_flow_of_its_nozzle() {
    let book = demo();
    let chart = nomogram(&book, "attack", (System::Us, None));
    assert_eq!(chart.ladders.len(), 4);
    assert!(!chart.left_out.is_empty());
    let document = Document::parse(&chart.drawing.svg).unwrap();
    let flows = Printed::read(&document, &[("scale", "flow"), ("unit", "gpm")], false);
    for ladder in &chart.ladders {
        let letter = ladder.letter.to_string();
        let rungs = Printed::read(&document, &[("ladder", &letter), ("unit", "psi")], false);
        for (pressure, place) in rungs.0 {
            let flow =
                ladder
                    .on
                    .law
                    .flow(Pressure::of_si(si(Kind::Pressure, pressure, System::Us)));
            let flow = Kind::Flow.unit(System::Us).from_si(flow.value);
            let off = (flows.place(flow, f64::ln) - place).abs();
            assert!(
                off < 0.5,
                "{}: {pressure} psi at {flow} gpm, {off} px off",
                ladder.on.called()
            );
        }
    }
}
