//! What an answer says beside its figures, where it once said too little.
#![allow(clippy::unwrap_used, clippy::panic)]

use book::{Book, Conditions};
use hydraulics::units::System;
use study::answer::{Basis, LineAnswer};
use study::notice::{Notice, Weight};

fn read(text: &str) -> Book {
    book::read(text.as_bytes(), "x").unwrap_or_else(|e| panic!("{e:?}"))
}

const KIT: &str = "[book]
name = 'x'
[hose.attack]
size = '1.75 in'
coefficient = 15.5
[nozzle.tip]
kind = 'fixed'
flow = '150 gpm'
pressure = '100 psi'
";

/// A line of 200 ft and one nozzle, with more keys.
fn line(more: &str) -> Book {
    read(&format!(
        "{KIT}[line.left]\nparts = [{{ hose = 'attack', length = '200 ft' }}, {{ nozzle = 'tip' }}]\n{more}\n"
    ))
}

fn solve(book: &Book) -> LineAnswer {
    study::solve(book, "left", &Conditions::default()).unwrap()
}

fn find<'a>(answer: &'a LineAnswer, code: &str) -> Option<&'a Notice> {
    answer.notices.iter().find(|notice| notice.code == code)
}

fn numbers(notice: &Notice) -> Vec<String> {
    let shown = notice.numbers.iter();
    shown
        .map(|(name, f)| format!("{name} {}", f.show(System::Us)))
        .collect()
}

#[test]
fn regress_a_reach_that_cannot_be_had_is_not_pretended() {
    let answer = solve(&line("aim = { reach = '500 ft' }"));
    let plain = solve(&line(""));
    // The nozzle at its rating, and not a pump at nothing.
    assert_eq!(answer.pump_pressure, plain.pump_pressure);
    assert!(matches!(answer.basis, Basis::OutOfReach { .. }));
    assert!(answer.basis_words().contains("cannot be reached"));
    assert_eq!(
        answer.json(System::Us)["pump_pressure_from"],
        "aim_out_of_reach"
    );
    let notice = find(&answer, "aim_out_of_reach").unwrap();
    assert_eq!(notice.weight, Weight::Limit);
    assert_eq!(numbers(notice)[0], "effective reach asked for 500 ft");
    assert!(numbers(notice)[1].starts_with("the most that can be had "));
    assert_eq!(answer.tips[0].aim_met, Some(false));
    assert_eq!(answer.tips[0].aim_missed, ["effective_reach"]);
    let near = solve(&line("aim = { reach = '50 ft' }"));
    assert!(
        matches!(near.basis, Basis::Aim { .. }),
        "{:?}",
        near.notices
    );
    assert!(find(&near, "aim_out_of_reach").is_none());
}

#[test]
fn regress_a_flow_that_no_pump_gives_is_not_pretended() {
    let answer = solve(&line("aim = { flow = '900 gpm' }"));
    assert_eq!(answer.pump_pressure, solve(&line("")).pump_pressure);
    assert!(matches!(answer.basis, Basis::OutOfReach { .. }));
    let notice = find(&answer, "aim_out_of_reach").unwrap();
    assert_eq!((notice.weight, notice.numbers.len()), (Weight::Limit, 2));
}

#[test]
fn regress_a_tip_well_over_its_aim_says_so() {
    let over = |pump: &str| {
        solve(&line(&format!(
            "aim = {{ flow = '150 gpm' }}\npump_pressure = '{pump}'"
        )))
    };
    let answer = over("330 psi");
    assert_eq!(answer.tips[0].aim_met, Some(true));
    let notice = find(&answer, "over_aim").unwrap();
    assert_eq!(notice.weight, Weight::Remark);
    // 150 sqrt(330 / 169.75)
    assert_eq!(numbers(notice), ["flow 209 gpm", "aim 150 gpm"]);
    assert_eq!(notice.mend, "gate this branch, or lower the pump");
    assert!(find(&over("195 psi"), "over_aim").is_none());
}

#[test]
fn regress_which_part_of_an_aim_is_missed_is_said() {
    let missed = |aim: &str, pump: &str| {
        let answer = solve(&line(&format!(
            "aim = {{ {aim} }}\npump_pressure = '{pump}'"
        )));
        assert_eq!(
            answer.tips[0].aim_met,
            Some(answer.tips[0].aim_missed.is_empty())
        );
        answer.tips[0].aim_missed.clone()
    };
    let both = "flow = '150 gpm', reaction_at_most = '70 lbf'";
    assert_eq!(missed(both, "100 psi"), ["flow"]);
    // 0.0505 x 150 x sqrt(100) = 76 lbf
    assert_eq!(missed(both, "170 psi"), ["reaction_at_most"]);
    assert_eq!(missed("flow = '150 gpm'", "170 psi"), Vec::<&str>::new());
    let low = "tip_pressure = '100 psi', reaction_at_most = '10 lbf'";
    assert_eq!(missed(low, "100 psi"), ["tip_pressure", "reaction_at_most"]);
}

#[test]
fn regress_more_than_three_people_is_said_so() {
    let mut tip = solve(&line("")).tips.remove(0);
    tip.people = None;
    assert_eq!(tip.takes(), "more than 3 people");
}

#[test]
fn regress_legs_into_one_inlet_pass_a_limit() {
    let of = |inlets: &str| {
        read(&format!(
            "{KIT}[appliance.gun]\nkind = 'monitor'\nallowance = '25 psi'\ninlets = {inlets}\n\
             [line.left]\nparts = [{{ legs = [[{{ hose = 'attack', length = '200 ft' }}], \
             [{{ hose = 'attack', length = '200 ft' }}]] }}, {{ appliance = 'gun' }}, {{ nozzle = 'tip' }}]\n"
        ))
    };
    let answer = solve(&of("'1.5 in NH'"));
    let notice = find(&answer, "no_siamese").unwrap();
    assert_eq!(
        (notice.weight, notice.place.as_str()),
        (Weight::Limit, "part 2")
    );
    assert!(find(&solve(&of("['1.5 in NH', '1.5 in NH']")), "no_siamese").is_none());
}

#[test]
fn regress_a_share_of_concentrate_above_six_per_cent_is_cautioned() {
    let of = |ratio: &str| {
        let text = format!(
            "{KIT}[appliance.foam]\nkind = 'eductor'\nflow = '150 gpm'\ninlet_pressure = '200 psi'\n\
             [line.left]\nparts = [{{ appliance = 'foam', ratio = '{ratio}' }}, \
             {{ hose = 'attack', length = '50 ft' }}, {{ nozzle = 'tip' }}]\n"
        );
        solve(&read(&text))
    };
    let notice = of("50 %");
    let notice = find(&notice, "ratio_above_usual").unwrap();
    assert_eq!(notice.weight, Weight::Caution);
    assert!(notice.text.contains("0.1 to 6 %"));
    for usual in ["0.5 %", "3 %", "6 %"] {
        assert!(find(&of(usual), "ratio_above_usual").is_none(), "{usual}");
    }
}
