//! Gauges and flow meters.

use super::{about, maybe, put, quoted, stated, value};
use crate::model::{GaugeItem, Scale, Stated, Steps};
use hydraulics::units::Ratio;
use std::fmt::Write;

pub(super) fn gauge(out: &mut String, item: &GaugeItem) {
    put(out, "measures", &quoted(item.scale.word()));
    maybe(out, "serial", item.serial.as_ref(), |serial| value(serial));
    let share = item.accuracy_share.as_ref();
    match &item.scale {
        Scale::Pressure(of) => steps(out, of, share),
        Scale::Flow(of) => steps(out, of, share),
    }
    maybe(out, "calibrated", item.calibrated.as_ref(), |d| quoted(d));
    about(out, &item.about);
}

fn steps<Q: Copy>(out: &mut String, steps: &Steps<Q>, share: Option<&Stated<Ratio>>) {
    maybe(out, "step", steps.step.as_ref(), stated);
    match (&steps.accuracy, share) {
        (Some(whole), Some(share)) => {
            let _ = writeln!(out, "accuracy = [{}, {}]", stated(whole), stated(share));
        }
        (whole, share) => {
            maybe(out, "accuracy", whole.as_ref(), stated);
            maybe(out, "accuracy", share, stated);
        }
    }
    maybe(out, "swing", steps.swing.as_ref(), stated);
    maybe(out, "highest", steps.highest.as_ref(), stated);
}
