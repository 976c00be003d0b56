//! Very many operating points of one line at once.
//!
//! A line of hose, appliances and valves with square losses that ends in a nozzle
//! has a closed form ([`Series`]): with h the pump pressure less the rise, R the
//! sum of the square losses, b the trace of loss that every chain has, and c = 1/K^2
//! of the nozzle, (R + c) Q^2 + b Q = h gives the flow by one root. An automatic
//! nozzle does so on either stop; between them the share t of its travel solves
//! R K(t)^2 p(t) + b Q + p(t) = h, a cubic but for the trace: a start from the
//! quadratic that has the middle pressure in place of p(t), four steps of Newton on
//! the cubic, and one on the whole. What does not come to rest so is bracketed.
//!
//! [`Points`] asks that for columns of points, in the processor's widest arithmetic
//! and on all its cores. Every point is worked out by the same operations in the
//! same order, alone or in a crowd, so neither threads nor pieces change a bit of
//! it, and [`Series::flow`] gives the same again. All numbers are SI.

mod kernel;
mod points;
mod series;

pub use points::{Column, ColumnError, NozzleColumns, Points};
pub use series::Series;
