//! The fitter of `study::reduce` beside the certified nonlinear problems of NIST's
//! Statistical Reference Datasets, each from both of NIST's start values.
#![allow(clippy::unwrap_used, clippy::panic, clippy::print_stdout)]

use std::f64::consts::PI;
use std::path::Path;
use study::reduce::{Fit, FitError, Model, Stopped, Task, fit};

/// A certified problem as its file has it.
struct Certified {
    starts: [Vec<f64>; 2],
    parameters: Vec<f64>,
    standard_errors: Vec<f64>,
    sum_of_squares: f64,
    deviation: f64,
    /// Rows of y, x.
    readings: Vec<Vec<f64>>,
}

fn numbers(text: &str) -> Vec<f64> {
    text.split_whitespace()
        .map_while(|word| word.parse().ok())
        .collect()
}

/// Reads a file of the datasets: parameters on lines "b1 = start start value error",
/// the rest by its label, the data below the last line that begins with "Data:".
fn certified(name: &str) -> Certified {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../checks/data/nist")
        .join(name)
        .with_extension("dat");
    let text = std::fs::read_to_string(path).unwrap();
    let rows: Vec<Vec<f64>> = text
        .lines()
        .filter(|line| line.trim_start().starts_with('b'))
        .filter_map(|line| line.split_once('=').map(|(_, values)| numbers(values)))
        .filter(|row| row.len() == 4)
        .collect();
    let column = |at: usize| rows.iter().map(|row| row[at]).collect::<Vec<f64>>();
    let labelled = |label: &str| {
        let found = text.lines().find_map(|line| line.strip_prefix(label));
        numbers(found.unwrap_or_else(|| panic!("{name} has {label}")))[0]
    };
    let data = text.rsplit_once("\nData:").unwrap().1;
    let readings: Vec<Vec<f64>> = data
        .lines()
        .map(numbers)
        .filter(|row| row.len() == 2)
        .collect();
    assert_eq!(
        readings.len(),
        labelled("Number of Observations:") as usize,
        "{name}"
    );
    Certified {
        starts: [column(0), column(1)],
        parameters: column(2),
        standard_errors: column(3),
        sum_of_squares: labelled("Residual Sum of Squares:"),
        deviation: labelled("Residual Standard Deviation:"),
        readings,
    }
}

/// y = f(x, b).
struct Curve {
    f: fn(f64, &[f64]) -> f64,
    parameters: usize,
}

impl Model for Curve {
    fn names(&self) -> Vec<String> {
        (1..=self.parameters).map(|at| format!("b{at}")).collect()
    }

    fn residual(&self, reading: &[f64], b: &[f64]) -> f64 {
        reading[0] - (self.f)(reading[1], b)
    }
}

fn tried(certified: &Certified, f: fn(f64, &[f64]) -> f64, start: usize) -> Result<Fit, FitError> {
    let parameters = certified.parameters.len();
    let curve = Curve { f, parameters };
    fit(Task::new(
        &curve,
        &certified.readings,
        certified.starts[start].clone(),
    ))
}

/// How many digits of `certified` are met: -log10 of the relative error.
fn digits(computed: f64, certified: f64) -> f64 {
    -((computed - certified) / certified)
        .abs()
        .max(1e-16)
        .log10()
}

fn fewest(computed: &[f64], certified: &[f64]) -> f64 {
    assert_eq!(computed.len(), certified.len());
    let met = computed.iter().zip(certified).map(|(c, k)| digits(*c, *k));
    met.fold(f64::INFINITY, f64::min)
}

/// Both starts lead to the certified values, to `least` digits.
fn meets(name: &str, least: f64, f: fn(f64, &[f64]) -> f64) {
    for start in 0..2 {
        meets_from(name, start, least, f);
    }
}

fn meets_from(name: &str, start: usize, least: f64, f: fn(f64, &[f64]) -> f64) {
    let known = certified(name);
    let fit = tried(&known, f, start).unwrap_or_else(|error| panic!("{name} {start}: {error}"));
    let parameters = fewest(&fit.parameters, &known.parameters);
    let errors = fewest(&fit.standard_errors(), &known.standard_errors);
    let squares = digits(fit.sum_of_squares, known.sum_of_squares);
    let deviation = digits(fit.residual_deviation(), known.deviation);
    println!(
        "{name} from start {}: parameters {parameters:.1} digits, errors {errors:.1}, sum {squares:.1}, {} trials, {:?}",
        start + 1,
        fit.evaluations,
        fit.stopped
    );
    // Not by the header, which is wrong in Rat43 (9 for 15 readings less 4 parameters);
    // the certified deviation tells the degrees of freedom just as well.
    assert_eq!(
        fit.degrees,
        known.readings.len() - known.parameters.len(),
        "{name}"
    );
    assert_eq!(fit.stopped, Stopped::Converged, "{name}");
    for (what, met) in [
        ("parameters", parameters),
        ("standard errors", errors),
        ("sum of squares", squares),
        ("deviation", deviation),
    ] {
        assert!(
            met >= least,
            "{name} from start {}: {what} to {met:.1} digits",
            start + 1
        );
    }
}

fn three_decays(x: f64, b: &[f64]) -> f64 {
    b[0] * (-b[1] * x).exp() + b[2] * (-b[3] * x).exp() + b[4] * (-b[5] * x).exp()
}

#[test]
fn book_nist_danwood_power_law() {
    meets("DanWood", 8.0, |x, b| b[0] * x.powf(b[1]));
}

#[test]
fn book_nist_misra1a() {
    meets("Misra1a", 8.0, |x, b| b[0] * (1.0 - (-b[1] * x).exp()));
}

#[test]
fn book_nist_chwirut2() {
    meets("Chwirut2", 8.0, |x, b| {
        (-b[0] * x).exp() / (b[1] + b[2] * x)
    });
}

#[test]
fn book_nist_kirby2() {
    meets("Kirby2", 8.0, |x, b| {
        (b[0] + b[1] * x + b[2] * x * x) / (1.0 + b[3] * x + b[4] * x * x)
    });
}

#[test]
fn book_nist_roszman1() {
    meets("Roszman1", 8.0, |x, b| {
        b[0] - b[1] * x - (b[2] / (x - b[3])).atan() / PI
    });
}

#[test]
fn book_nist_gauss3() {
    meets("Gauss3", 8.0, |x, b| {
        let peak = |height: f64, at: f64, width: f64| height * (-((x - at) / width).powi(2)).exp();
        b[0] * (-b[1] * x).exp() + peak(b[2], b[3], b[4]) + peak(b[5], b[6], b[7])
    });
}

#[test]
fn book_nist_hahn1() {
    meets("Hahn1", 8.0, |x, b| {
        (b[0] + x * (b[1] + x * (b[2] + x * b[3]))) / (1.0 + x * (b[4] + x * (b[5] + x * b[6])))
    });
}

#[test]
fn book_nist_mgh17() {
    meets("MGH17", 8.0, |x, b| {
        b[0] + b[1] * (-x * b[3]).exp() + b[2] * (-x * b[4]).exp()
    });
}

#[test]
fn book_nist_lanczos2() {
    meets("Lanczos2", 8.0, three_decays);
}

#[test]
fn book_nist_lanczos3() {
    meets("Lanczos3", 8.0, three_decays);
}

#[test]
fn book_nist_mgh09() {
    meets("MGH09", 8.0, |x, b| {
        b[0] * (x * x + x * b[1]) / (x * x + x * b[2] + b[3])
    });
}

#[test]
fn book_nist_mgh10() {
    meets("MGH10", 8.0, |x, b| b[0] * (b[1] / (x + b[2])).exp());
}

#[test]
fn book_nist_thurber() {
    meets("Thurber", 8.0, |x, b| {
        (b[0] + x * (b[1] + x * (b[2] + x * b[3]))) / (1.0 + x * (b[4] + x * (b[5] + x * b[6])))
    });
}

#[test]
fn book_nist_boxbod() {
    meets("BoxBOD", 8.0, |x, b| b[0] * (1.0 - (-b[1] * x).exp()));
}

#[test]
fn book_nist_rat42() {
    meets("Rat42", 8.0, |x, b| b[0] / (1.0 + (b[1] - b[2] * x).exp()));
}

#[test]
fn book_nist_rat43() {
    meets("Rat43", 8.0, |x, b| {
        b[0] / (1.0 + (b[1] - b[2] * x).exp()).powf(1.0 / b[3])
    });
}

#[test]
fn book_nist_eckerle4() {
    meets("Eckerle4", 8.0, |x, b| {
        b[0] / b[1] * (-0.5 * ((x - b[2]) / b[1]).powi(2)).exp()
    });
}

#[test]
fn book_nist_bennett5() {
    meets("Bennett5", 8.0, |x, b| b[0] * (b[1] + x).powf(-1.0 / b[2]));
}
