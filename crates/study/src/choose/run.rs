//! One layout solved at one pump pressure after another.

use book::{Layout, PartKind, Path};
use hydraulics::units::{Measure, Pressure, VolumeRate};
use lay::batch::Series;
use lay::{Lay, PartId, PlaceId, Solver, Steady, Stopped};

/// A layout, ready to be solved at many pump pressures.
pub(super) struct Run<'l> {
    layout: &'l Layout,
    /// The inlet of the varied hose.
    hose: Option<(PartId, PlaceId)>,
    closed: Option<Closed>,
    network: Option<Network>,
    services: Vec<Service>,
    pump: Pressure,
}

/// A line in series with a closed form.
struct Closed {
    series: Series,
    /// Loss of a unit flow, and pressure of the rise, before the varied hose.
    before: Option<(f64, f64)>,
    /// Flow and nozzle pressure now.
    now: (VolumeRate, Pressure),
}

struct Network {
    lay: Lay,
    solver: Solver,
    last: Option<Steady>,
}

impl<'l> Run<'l> {
    pub fn new(layout: &'l Layout, hose: Option<&Path>) -> Self {
        let laid = layout
            .parts
            .iter()
            .find(|part| part.kind == PartKind::Hose && Some(&part.path) == hose);
        let hose = laid.map(|laid| (laid.part, layout.lay.ends(laid.part).0));
        Run {
            layout,
            hose,
            closed: Closed::of(layout, hose.map(|(part, _)| part)),
            network: None,
            services: Service::of(layout),
            pump: Pressure::of_si(0.0),
        }
    }

    /// Solves at a pump pressure.
    pub fn solve(&mut self, pump: Pressure) {
        self.pump = pump;
        if let Some(closed) = &mut self.closed {
            closed.now = closed.series.flow(pump);
            return;
        }
        let network = self.network.get_or_insert_with(|| Network {
            lay: self.layout.lay.clone(),
            solver: Solver::new(&self.layout.lay),
            last: None,
        });
        network.lay.set_pressure(self.layout.supply, pump);
        let steady = network.solver.solve(&network.lay, network.last.as_ref());
        network.last = Some(steady);
    }

    /// The whole answer, where the general solver gave it.
    pub fn steady(&self) -> Option<&Steady> {
        self.network.as_ref()?.last.as_ref()
    }

    pub fn converged(&self) -> bool {
        self.steady()
            .is_none_or(|steady| steady.stopped == Stopped::Converged)
    }

    /// Flow and nozzle pressure of tip number `index`.
    pub fn tip(&self, index: usize) -> (VolumeRate, Pressure) {
        if let Some(closed) = &self.closed {
            return closed.now;
        }
        match (self.steady(), self.layout.tips.get(index)) {
            (Some(steady), Some(tip)) => {
                let flow = steady.flow(tip.part);
                (flow, tip.tip.nozzle.pressure(flow).pressure)
            }
            _ => Default::default(),
        }
    }

    /// Pressure at the inlet of the varied hose.
    pub fn inlet(&self) -> Option<Pressure> {
        let Some(closed) = &self.closed else {
            return self.steady()?.pressure(self.hose?.1);
        };
        let (square, rise) = closed.before?;
        let flow = closed.now.0.value;
        Some(Pressure::of_si(
            self.pump.value - square * flow * flow - rise,
        ))
    }

    /// Pressure over service pressure, where it is highest: with the tips shut, or
    /// where something holds the pressure with the water moving.
    pub fn service(&self) -> Option<f64> {
        let shares = self.services.iter().map(|hose| {
            let pressure = match self.steady().filter(|_| self.layout.cuts.len() > 1) {
                Some(steady) => hose.ends.iter().fold(0.0_f64, |most, place| {
                    let pressure = steady.pressure(*place).map_or(0.0, |p| p.value);
                    most.max(pressure)
                }),
                None => self.pump.value - hose.column,
            };
            pressure / hose.service
        });
        shares.reduce(f64::max)
    }
}

/// A hose that has a service pressure.
struct Service {
    service: f64,
    /// Pressure of the height of its lower end.
    column: f64,
    ends: [PlaceId; 2],
}

impl Service {
    fn of(layout: &Layout) -> Vec<Self> {
        let hoses = layout.parts.iter().filter(|p| p.kind == PartKind::Hose);
        let rated = hoses.filter_map(|laid| {
            let (from, to) = layout.lay.ends(laid.part);
            let lowest = layout.lay.height(from).min(layout.lay.height(to));
            Some(Service {
                service: laid.service_pressure?.value,
                column: layout.lay.column(lowest).value,
                ends: [from, to],
            })
        });
        rated.collect()
    }
}

impl Closed {
    fn of(layout: &Layout, hose: Option<PartId>) -> Option<Self> {
        if layout.tips.len() != 1 || layout.cuts.len() > 1 {
            return None;
        }
        let (series, parts) = Series::parted(&layout.lay, layout.supply)?;
        let at = parts.iter().position(|(part, _)| Some(*part) == hose);
        let before = at.map(|at| {
            let before = parts.iter().take(at);
            before.fold((0.0, 0.0), |(square, rise), (part, r)| {
                (square + r, rise + layout.lay.rise(*part).value)
            })
        });
        Some(Closed {
            series,
            before,
            now: Default::default(),
        })
    }
}
