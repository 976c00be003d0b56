//! How long a comparison's largest questions take: 200,000 choices for 8 lines, and
//! 100,000 days drawn of the demo's largest scene; and whether memory stays the same
//! when a hundred times as many days are drawn.
#![allow(missing_docs, clippy::print_stdout)]

use book::comparison::{AimKind, Comparison, Doubt, NozzleChoice, Steps, Wanted};
use book::{Book, Stated};
use criterion::{Criterion, criterion_group};
use hydraulics::units::{Kind, Measure, System};
use std::fmt::Write;
use std::path::Path;
use std::process::Command;
use study::choose::{Quiet, choose, size};
use study::doubt::of_scene;

const SCENE: &str = "mill-street";
const LINES: usize = 8;
/// Asks this program for nothing but so many days, and what memory they took.
const ONLY_DAYS: &str = "ONLY_DAYS";

fn demo(more: &str) -> Option<Book> {
    let mut text = include_str!("../../../books/saltmarsh-bend.toml").to_string();
    text.push_str(more);
    book::read(text.as_bytes(), "saltmarsh-bend.toml").ok()
}

/// Eight lines of hose and nozzle, each going higher than the one before.
fn eight_lines() -> String {
    (0..LINES).fold(String::new(), |mut text, i| {
        let _ = write!(
            text,
            "\n[line.bench-{i}]\nrig = \"pumper-1\"\nparts = [\n  {{ hose = \"attack\", length = \
             \"200 ft\", rise = \"{} ft\" }},\n  {{ nozzle = \"15/16 in smooth bore\" }},\n]\n",
            5 * i
        );
        text
    })
}

fn stated<Q: Measure>(kind: Kind, text: &str) -> Option<Stated<Q>> {
    Stated::read(kind, text, System::Us).ok()
}

/// 20 nozzles and settings, 4 hoses, 25 lengths, 100 pump pressures.
fn comparison() -> Option<Comparison> {
    let nozzle = |name: &str| NozzleChoice {
        nozzle: name.into(),
        setting: None,
    };
    let nozzles = [
        "3/4 in smooth bore",
        "7/8 in smooth bore",
        "15/16 in smooth bore",
        "1 in smooth bore",
        "60 gpm at 100 psi",
        "95 gpm at 100 psi",
        "125 gpm at 100 psi",
        "150 gpm at 100 psi",
        "125 gpm at 75 psi",
        "150 gpm at 75 psi",
        "175 gpm at 75 psi",
        "200 gpm at 75 psi",
        "150 gpm at 50 psi",
        "175 gpm at 50 psi",
        "automatic 70 to 200 gpm",
        "automatic 10 to 125 gpm",
        "selectable 30 to 125 gpm",
    ];
    let mut asked = Comparison {
        lines: (0..LINES).map(|i| format!("bench-{i}")).collect(),
        ..Default::default()
    };
    asked.vary.nozzle = nozzles.map(nozzle).into();
    asked.vary.hose = ["1.5 in", "1.75 in", "attack", "2 in"]
        .map(String::from)
        .into();
    let length = |i: usize| stated(Kind::Length, &format!("{} ft", 50 + 10 * i));
    asked.vary.length = (0..25).map(length).collect::<Option<_>>()?;
    asked.vary.pump_pressure = Steps::Range {
        from: stated(Kind::Pressure, "61 psi")?,
        to: stated(Kind::Pressure, "160 psi")?,
        step: stated(Kind::Pressure, "1 psi")?,
    };
    asked.limits.past_service_pressure = true;
    asked.limits.people = Some(3);
    for aim in [
        AimKind::Flow,
        AimKind::Reach,
        AimKind::Reaction,
        AimKind::PumpPressure,
    ] {
        let weight = stated(Kind::Share, "1")?;
        asked.aims.insert(aim, Wanted { weight, near: None });
    }
    // The days are another question.
    asked.doubt.draws = Some(0);
    Some(asked)
}

fn days(draws: u64) -> Doubt {
    Doubt {
        draws: Some(draws),
        pump_gauge: stated(Kind::Pressure, "5 psi"),
        governor: stated(Kind::Pressure, "5 psi"),
        length: stated(Kind::Share, "3 %"),
        ..Default::default()
    }
}

fn whole_questions(c: &mut Criterion) {
    let (Some(book), Some(asked)) = (demo(&eight_lines()), comparison()) else {
        return;
    };
    let mut group = c.benchmark_group("choose");
    group.sample_size(10);
    match (size(&book, &asked), choose(&book, &asked, &Quiet)) {
        (Ok(size), Ok(found)) => {
            let excluded = size.choices - found.unbeaten - found.beaten;
            let text = format!(
                "{{\"choices\": {}, \"points\": {}, \"unbeaten\": {}, \"excluded\": {excluded}}}\n",
                size.choices, size.points, found.unbeaten
            );
            keep("candidates.json", &text);
            group.bench_function("candidates_200k", |b| {
                b.iter(|| choose(&book, &asked, &Quiet).is_ok());
            });
        }
        (_, Err(error)) | (Err(error), _) => keep("candidates.json", &format!("{error}\n")),
    }
    let scene = |draws| of_scene(&book, SCENE, &Default::default(), &days(draws), &Quiet);
    group.bench_function("draws_100k", |b| b.iter(|| scene(100_000).is_ok()));
    group.finish();
    for draws in [10_000, 1_000_000] {
        if let Some(kib) = peak_of(draws) {
            keep(&format!("peak_{draws}.json"), &format!("{kib}\n"));
        }
    }
}

/// Writes beside criterion's estimates.
fn keep(name: &str, text: &str) {
    let target = std::env::var("CARGO_TARGET_DIR").unwrap_or_else(|_| "../../target".into());
    let folder = Path::new(&target).join("criterion/choose");
    let _ = std::fs::create_dir_all(&folder);
    let _ = std::fs::write(folder.join(name), text);
}

/// The most memory, in KiB, of a process that draws so many days and nothing else.
fn peak_of(draws: u64) -> Option<u64> {
    let own = std::env::current_exe().ok()?;
    let output = Command::new(own)
        .env(ONLY_DAYS, draws.to_string())
        .output()
        .ok()?;
    String::from_utf8(output.stdout).ok()?.trim().parse().ok()
}

fn only_days(draws: u64) {
    let Some(book) = demo("") else { return };
    let drawn = of_scene(&book, SCENE, &Default::default(), &days(draws), &Quiet);
    if drawn.is_ok_and(|drawn| drawn.draws == draws) {
        let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
        let most = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
        let kib = most.and_then(|most| most.split_whitespace().next());
        println!("{}", kib.unwrap_or_default());
    }
}

criterion_group!(choose_benches, whole_questions);

fn main() {
    match std::env::var(ONLY_DAYS).ok().and_then(|n| n.parse().ok()) {
        Some(draws) => only_days(draws),
        None => {
            choose_benches();
            Criterion::default().configure_from_args().final_summary();
        }
    }
}
