//! Every row of the published tables, put to Handline's public functions
//! and, where lines part or meet, to whole lays.
//!
//! A test that fails lists all the rows that miss, each with the printed
//! value, the computed one and the tolerance. `book_`: seen in print (or
//! recalled, or worked out, where the name says so); `field_`: measured.

#[path = "published/laws.rs"]
mod laws;
#[path = "published/lays.rs"]
mod lays;
#[path = "published/scenes.rs"]
mod scenes;
#[path = "published/supply.rs"]
mod supply;

use checks::{CheckError, Mark, Row, table};

/// What is wrong with a row: nothing, or one line for each miss.
type Misses = Result<Vec<String>, CheckError>;

/// A table and the check that its rows go through.
struct Topic {
    table: &'static str,
    check: fn(&Row) -> Misses,
}

const TOPICS: [Topic; 31] = [
    topic("friction_us", laws::friction),
    topic("friction_metric", laws::friction),
    topic("siamesed_metric", lays::siamesed),
    topic("coefficient_units", laws::coefficient_units),
    topic("parallel_us", lays::parallel),
    topic("equivalent_length", laws::equivalent_length),
    topic("nozzle_us", laws::discharge),
    topic("nozzle_metric", laws::discharge),
    topic("nozzle_theoretical", laws::discharge),
    topic("nozzle_head", laws::discharge),
    topic("reaction", laws::reaction),
    topic("elevation", laws::elevation),
    topic("velocity_volume", laws::velocity_volume),
    topic("appliances", lays::appliances),
    topic("units", laws::units),
    topic("reach", laws::reach),
    topic("vertical_phi", laws::vertical_phi),
    topic("pump_pressure", lays::pump_pressure),
    topic("relay_distance", lays::relay_distance),
    topic("measured_line", lays::measured_line),
    topic("gated_automatic", lays::gated_automatic),
    topic("hydrant_pitot", supply::hydrant_pitot),
    topic("draft", supply::drafting),
    topic("shuttle", supply::water_shuttle),
    topic("foam", supply::foam),
    topic("fire_flow", supply::needed_flow),
    topic("pump_rating", scenes::pump_rating),
    topic("hydrant_curve", scenes::hydrant_curve),
    topic("relay", scenes::relay),
    topic("standpipe", scenes::standpipe),
    topic("eductor", scenes::eductor),
];

const fn topic(table: &'static str, check: fn(&Row) -> Misses) -> Topic {
    Topic { table, check }
}

/// Runs the rows of `tables` that bear `mark`; fails with all misses.
fn run(tables: &[&str], mark: Mark, wanted: impl Fn(&Row) -> bool) {
    let check_of = |name: &str| {
        let topic = TOPICS.iter().find(|t| t.table == name);
        topic.expect("the table is one of TOPICS").check
    };
    run_by(tables, check_of, |row| row.mark == mark && wanted(row));
}

/// Runs the rows of `tables` that are wanted through the check of their table;
/// fails with all misses.
fn run_by(
    tables: &[&str],
    check_of: impl Fn(&str) -> fn(&Row) -> Misses,
    wanted: impl Fn(&Row) -> bool,
) {
    let (mut ran, mut misses) = (0, Vec::new());
    for name in tables {
        let check = check_of(name);
        for row in table(name).expect("the table can be read") {
            if wanted(&row) {
                ran += 1;
                misses.extend(check(&row).unwrap_or_else(|e| vec![e.to_string()]));
            }
        }
    }
    assert!(ran > 0, "no row of {tables:?} is wanted");
    let count = misses.len();
    assert!(
        misses.is_empty(),
        "{count} of {ran} rows miss:\n{}",
        misses.join("\n")
    );
}

fn all(_: &Row) -> bool {
    true
}

#[test]
fn book_friction_loss() {
    run(&["friction_us", "friction_metric"], Mark::Seen, all);
}

#[test]
fn book_siamesed_legs() {
    run(&["siamesed_metric"], Mark::Seen, all);
}

#[test]
fn book_coefficients_in_both_systems() {
    run(&["coefficient_units"], Mark::Seen, all);
}

#[test]
fn book_parallel_coefficients() {
    run(&["parallel_us"], Mark::Seen, all);
}

#[test]
fn book_parallel_coefficients_from_memory() {
    run(&["parallel_us"], Mark::Memory, all);
}

#[test]
fn book_equivalent_length() {
    run(&["equivalent_length"], Mark::Seen, all);
}

#[test]
fn book_nozzle_discharge() {
    let tables = ["nozzle_us", "nozzle_metric", "nozzle_theoretical"];
    run(&tables, Mark::Seen, all);
}

#[test]
fn book_nozzle_discharge_by_head_derived() {
    run(&["nozzle_head"], Mark::Derived, all);
}

#[test]
fn book_reaction() {
    run(&["reaction"], Mark::Seen, all);
}

#[test]
fn book_reaction_derived() {
    run(&["reaction"], Mark::Derived, all);
}

#[test]
fn book_elevation() {
    run(&["elevation"], Mark::Seen, all);
}

#[test]
fn book_velocity_and_hose_volume() {
    run(&["velocity_volume"], Mark::Seen, all);
}

#[test]
fn book_hose_volume_from_memory() {
    run(&["velocity_volume"], Mark::Memory, all);
}

#[test]
fn book_appliance_allowances() {
    run(&["appliances"], Mark::Seen, all);
}

#[test]
fn book_units() {
    run(&["units"], Mark::Seen, all);
}

#[test]
fn book_units_derived() {
    run(&["units"], Mark::Derived, all);
}

#[test]
fn book_level_reach() {
    run(&["reach"], Mark::Seen, |row| {
        row.text("method") == Some("level")
    });
}

#[test]
fn book_level_reach_derived() {
    run(&["reach"], Mark::Derived, all);
}

#[test]
fn book_level_reach_from_memory() {
    run(&["reach"], Mark::Memory, |row| {
        row.text("method") == Some("level")
    });
}

#[test]
fn book_vertical_reach_from_memory() {
    run(&["reach"], Mark::Memory, |row| {
        row.text("method") == Some("vertical")
    });
}

#[test]
fn book_height_of_the_jet_derived() {
    run(&["vertical_phi"], Mark::Derived, all);
}

#[test]
fn field_height_of_the_jet() {
    run(&["reach"], Mark::Seen, |row| {
        row.text("method") == Some("jet_height")
    });
}

#[test]
fn book_pump_pressure_through_lays() {
    run(&["pump_pressure"], Mark::Seen, all);
}

#[test]
fn book_siamese_by_coefficient_derived() {
    run(&["pump_pressure"], Mark::Derived, all);
}

#[test]
fn book_relay_distance() {
    run(&["relay_distance"], Mark::Seen, all);
}

#[test]
fn book_relay_distance_from_memory() {
    run(&["relay_distance"], Mark::Memory, all);
}

#[test]
fn field_measured_line() {
    run(&["measured_line"], Mark::Seen, all);
}

#[test]
fn field_gated_automatic_keeps_its_pressure() {
    run(&["gated_automatic"], Mark::Seen, all);
}

#[test]
fn field_gated_automatic_closes_in_order() {
    let rows = table("gated_automatic").unwrap();
    let gates: Vec<f64> = rows.iter().map(|r| lays::gate_of(r).unwrap().0).collect();
    assert!(gates.windows(2).all(|pair| pair[1] < pair[0]), "{gates:?}");
}

#[test]
fn book_hydrant_outlets() {
    run(&["hydrant_pitot"], Mark::Seen, all);
}

#[test]
fn book_hydrant_outlets_from_memory() {
    run(&["hydrant_pitot"], Mark::Memory, all);
}

#[test]
fn book_drafting() {
    run(&["draft"], Mark::Seen, all);
}

#[test]
fn book_tanks_and_shuttles() {
    run(&["shuttle"], Mark::Seen, all);
}

#[test]
fn book_foam_quantities() {
    run(&["foam"], Mark::Seen, all);
}

#[test]
fn book_foam_water_and_hose_past_an_eductor_derived() {
    run(&["foam"], Mark::Derived, all);
}

#[test]
fn book_fire_flow() {
    run(&["fire_flow"], Mark::Seen, all);
}

#[test]
fn book_fire_flow_from_memory() {
    run(&["fire_flow"], Mark::Memory, all);
}

#[test]
fn book_fire_flow_derived() {
    run(&["fire_flow"], Mark::Derived, all);
}

#[test]
fn book_pump_ratings() {
    run(&["pump_rating"], Mark::Seen, all);
}

#[test]
fn book_pump_at_another_speed_from_memory() {
    run(&["pump_rating"], Mark::Memory, all);
}

#[test]
fn book_pump_at_another_speed_derived() {
    run(&["pump_rating"], Mark::Derived, all);
}

#[test]
fn book_mains_by_flow_test() {
    run(&["hydrant_curve"], Mark::Seen, |row| !measured(row));
}

#[test]
fn field_main_by_flow_test() {
    run(&["hydrant_curve"], Mark::Seen, measured);
}

/// Measured on the fireground, not worked out for a print.
fn measured(row: &Row) -> bool {
    row.text("basis") == Some("gauges read to ten psi")
}

#[test]
fn book_relays_in_scenes() {
    run(&["relay"], Mark::Seen, all);
}

/// The distances that `relay_distance` has by lays, between the rigs of a scene.
#[test]
fn book_relay_distance_in_scenes() {
    by_scene("relay_distance", scenes::relay_distance, |row| {
        row.mark == Mark::Seen
    });
}

#[test]
fn book_relay_distance_in_scenes_from_memory() {
    by_scene("relay_distance", scenes::relay_distance, |row| {
        row.mark == Mark::Memory
    });
}

#[test]
fn book_standpipes_in_scenes() {
    run(&["standpipe"], Mark::Seen, all);
}

#[test]
fn book_standpipes_in_scenes_derived() {
    run(&["standpipe"], Mark::Derived, all);
}

#[test]
fn book_eductors_in_scenes() {
    run(&["eductor"], Mark::Seen, all);
}

#[test]
fn book_eductors_in_scenes_derived() {
    run(&["eductor"], Mark::Derived, all);
}

/// Rows that `foam` has in closed form: proportioners and a spill.
#[test]
fn book_foam_in_scenes() {
    by_scene("foam", scenes::foam_in_scene, |row| {
        row.mark == Mark::Seen && in_a_scene(row)
    });
}

#[test]
fn book_foam_water_and_hose_past_an_eductor_in_scenes_derived() {
    by_scene("foam", scenes::foam_in_scene, |row| {
        row.mark == Mark::Derived && in_a_scene(row)
    });
}

fn in_a_scene(row: &Row) -> bool {
    let method = row.text("method");
    !["spill_rate", "tank_rate", "duration"].contains(&method.unwrap_or_default())
}

#[test]
fn book_shuttle_in_a_scene() {
    by_scene("shuttle", scenes::shuttle_in_scene, |row| {
        row.text("id") == Some("PS-B25")
    });
}

#[test]
fn book_fire_flow_in_scenes() {
    by_scene("fire_flow", scenes::fire_flow_in_scene, |row| {
        ["PS-C01", "PS-C04"].contains(&row.text("id").unwrap_or_default())
    });
}

/// Rows of another table, through a scene.
fn by_scene(name: &str, check: fn(&Row) -> Misses, wanted: impl Fn(&Row) -> bool) {
    run_by(&[name], |_| check, wanted);
}

/// No row is left out by the tests above, no table is left unread, and there
/// are enough of them.
#[test]
fn book_every_row_of_every_table_is_run() {
    let mut rows = 0;
    for topic in &TOPICS {
        for row in table(topic.table).unwrap() {
            // A row that cannot be read is a miss of its own test.
            assert!(
                (topic.check)(&row).is_ok(),
                "{} cannot be put to Handline: {:?}",
                row.place,
                (topic.check)(&row).err()
            );
            for column in ["basis", "source", "year", "expected", "tolerance"] {
                assert!(row.text(column).is_some(), "{}: no {column}", row.place);
            }
            rows += 1;
        }
    }
    assert!(rows >= 200, "only {rows} rows ran");

    let others = ["throws_1981", "peer_", "nist"];
    for file in std::fs::read_dir(checks::data()).unwrap() {
        let name = file.unwrap().file_name().into_string().unwrap();
        let stem = name.split('.').next().unwrap();
        assert!(
            TOPICS.iter().any(|t| t.table == stem) || others.iter().any(|o| stem.starts_with(o)),
            "nothing reads {name}"
        );
    }
}

/// The counts in the README are those of the tables.
#[test]
fn book_readme_counts_the_rows() {
    let readme = include_str!("../README.md");
    for topic in &TOPICS {
        let rows = table(topic.table).unwrap();
        let count = |mark| rows.iter().filter(|row| row.mark == mark).count();
        let line = format!(
            "| {} | {} | {} | {} |",
            topic.table,
            count(Mark::Seen),
            count(Mark::Memory),
            count(Mark::Derived)
        );
        assert!(readme.contains(&line), "README lacks: {line}");
    }
}
