//! Points as columns.

use super::Series;
use super::kernel::Work;
use hydraulics::nozzle::{Discharge, Stop};
use rayon::prelude::*;

/// One quantity of every point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Column<'a> {
    /// The same for all.
    Same(f64),
    /// Each its own.
    Each(&'a [f64]),
}

impl<'a> Column<'a> {
    fn length(self) -> Option<usize> {
        match self {
            Column::Same(_) => None,
            Column::Each(values) => Some(values.len()),
        }
    }

    fn at(self, i: usize) -> f64 {
        match self {
            Column::Same(value) => value,
            Column::Each(values) => values.get(i).copied().unwrap_or(0.0),
        }
    }

    /// Values from `start` on, `count` of them.
    fn part(self, start: usize, count: usize) -> Self {
        match self {
            Column::Same(_) => self,
            Column::Each(values) => {
                let end = (start + count).min(values.len());
                Column::Each(values.get(start..end).unwrap_or(&[]))
            }
        }
    }
}

/// The nozzles of the points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NozzleColumns<'a> {
    /// One nozzle for all.
    Same(Discharge),
    /// The four numbers of [`Discharge`], each of them a column. At each point
    /// neither factor nor pressure may fall from the closed stop to the open one.
    Each {
        /// Discharge factor on the closed stop, m3/s per square root of Pa.
        closed_k: Column<'a>,
        /// Pressure where the baffle comes to the closed stop, Pa.
        closed_p: Column<'a>,
        /// Discharge factor on the open stop.
        open_k: Column<'a>,
        /// Pressure where the baffle comes to the open stop.
        open_p: Column<'a>,
    },
}

/// Very many operating points of a single line.
///
/// ```
/// use hydraulics::nozzle::Discharge;
/// use lay::batch::{Column, Points, Series};
/// let line = Series::new(5.4e9, 29_900.0, Discharge::orifice(1.27e-5));
/// let pump = [0.0, 0.6e6, 1.2e6];
/// let mut flows = [0.0; 3];
/// let mut tips = [0.0; 3];
/// Points { pump: Column::Each(&pump), ..Points::of(&line) }.solve(&mut flows, &mut tips)?;
/// assert_eq!(flows[0], 0.0);
/// assert_eq!((flows[2], tips[2]), line.at(1.2e6));
/// # Ok::<(), lay::batch::ColumnError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Points<'a> {
    /// Pressure at the supply, Pa.
    pub pump: Column<'a>,
    /// Loss of a unit flow up to the nozzle's base, Pa per (m3/s)^2.
    pub square: Column<'a>,
    /// Weight of the water between supply and tip, Pa.
    pub rise: Column<'a>,
    /// The nozzles.
    pub nozzle: NozzleColumns<'a>,
    /// Loss in proportion to flow, Pa s/m3, as [`Series`] has it.
    pub trace: f64,
}

/// A column that is longer or shorter than the room for the answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("the column of {what} has {found} values for {wanted} points: give it one for each")]
pub struct ColumnError {
    /// Which column.
    pub what: &'static str,
    /// The values that it has.
    pub found: usize,
    /// The points there are.
    pub wanted: usize,
}

/// Points that one core takes at a time: some of its nearest memory, and enough
/// not to notice the sharing out.
const PIECE: usize = 8192;

impl<'a> Points<'a> {
    /// Points that are all `line` at no pump pressure, to be given columns.
    pub fn of(line: &Series) -> Self {
        Points {
            pump: Column::Same(0.0),
            square: Column::Same(line.square),
            rise: Column::Same(line.rise),
            nozzle: NozzleColumns::Same(line.nozzle),
            trace: line.trace,
        }
    }

    fn columns(&self) -> [(&'static str, Option<Column<'a>>); 7] {
        let nozzle = match self.nozzle {
            NozzleColumns::Same(_) => [None; 4],
            NozzleColumns::Each {
                closed_k,
                closed_p,
                open_k,
                open_p,
            } => [closed_k, closed_p, open_k, open_p].map(Some),
        };
        [
            ("pump pressures", Some(self.pump)),
            ("square losses", Some(self.square)),
            ("rises", Some(self.rise)),
            ("factors on the closed stop", nozzle[0]),
            ("pressures on the closed stop", nozzle[1]),
            ("factors on the open stop", nozzle[2]),
            ("pressures on the open stop", nozzle[3]),
        ]
    }

    fn check(&self, wanted: usize) -> Result<(), ColumnError> {
        for (what, column) in self.columns() {
            match column.and_then(Column::length) {
                Some(found) if found != wanted => {
                    return Err(ColumnError {
                        what,
                        found,
                        wanted,
                    });
                }
                _ => {}
            }
        }
        Ok(())
    }

    /// The `count` points from `start` on.
    fn part(&self, start: usize, count: usize) -> Self {
        let cut = |column: Column<'a>| column.part(start, count);
        Points {
            pump: cut(self.pump),
            square: cut(self.square),
            rise: cut(self.rise),
            nozzle: match self.nozzle {
                NozzleColumns::Same(_) => self.nozzle,
                NozzleColumns::Each {
                    closed_k,
                    closed_p,
                    open_k,
                    open_p,
                } => NozzleColumns::Each {
                    closed_k: cut(closed_k),
                    closed_p: cut(closed_p),
                    open_k: cut(open_k),
                    open_p: cut(open_p),
                },
            },
            trace: self.trace,
        }
    }

    /// Point `i` as a line of its own, and its pump pressure.
    pub(super) fn at(&self, i: usize) -> (Series, f64) {
        let nozzle = match self.nozzle {
            NozzleColumns::Same(nozzle) => nozzle,
            NozzleColumns::Each {
                closed_k,
                closed_p,
                open_k,
                open_p,
            } => Discharge {
                closed: Stop {
                    k: closed_k.at(i),
                    p: closed_p.at(i),
                },
                open: Stop {
                    k: open_k.at(i),
                    p: open_p.at(i),
                },
            },
        };
        let line = Series {
            square: self.square.at(i),
            rise: self.rise.at(i),
            nozzle,
            trace: self.trace,
        };
        (line, self.pump.at(i))
    }

    /// Puts the flow of each point, m3/s, into `flows`.
    ///
    /// # Errors
    /// [`ColumnError`] when a column has another length than `flows`.
    pub fn flows(&self, flows: &mut [f64]) -> Result<(), ColumnError> {
        self.check(flows.len())?;
        let piece = |(i, flows): (usize, &mut [f64])| {
            let points = self.part(i * PIECE, flows.len());
            Work::new(points, flows, None).run();
        };
        match flows.len() > PIECE {
            true => flows.par_chunks_mut(PIECE).enumerate().for_each(piece),
            false => piece((0, flows)),
        }
        Ok(())
    }

    /// Puts the flow of each point, m3/s, into `flows`, and its nozzle pressure, Pa,
    /// into `tips`.
    ///
    /// # Errors
    /// [`ColumnError`] when a column, or `tips`, has another length than `flows`.
    pub fn solve(&self, flows: &mut [f64], tips: &mut [f64]) -> Result<(), ColumnError> {
        self.check(flows.len())?;
        if tips.len() != flows.len() {
            return Err(ColumnError {
                what: "nozzle pressures",
                found: tips.len(),
                wanted: flows.len(),
            });
        }
        let piece = |(i, (flows, tips)): (usize, (&mut [f64], &mut [f64]))| {
            let points = self.part(i * PIECE, flows.len());
            Work::new(points, flows, Some(tips)).run();
        };
        match flows.len() > PIECE {
            true => {
                let pieces = flows.par_chunks_mut(PIECE).zip(tips.par_chunks_mut(PIECE));
                pieces.enumerate().for_each(piece);
            }
            false => piece((0, (flows, tips))),
        }
        Ok(())
    }
}
