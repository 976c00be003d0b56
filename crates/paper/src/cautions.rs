//! What every sheet warns of.

/// On every sheet.
pub(crate) const ALWAYS: [&str; 6] = [
    "For planning, training and testing; never the only basis of a decision at an incident. The authority having jurisdiction, the makers' instructions and qualified instructors decide.",
    "Figures are formula or test values. Check them against a flow test of this equipment.",
    "Reaction is a formula value: the force on the person can be greater. A nozzle or coupling that gets loose whips: crew ready and footing firm before water comes.",
    "Never above the service pressure of any hose. Open and shut slowly.",
    "Electricity: keep the clearance that local rules give.",
    "In frost keep water moving or drain the line.",
];

/// Where foam is made.
pub(crate) const FOAM: &str = "Foam concentrate: gloves and eye protection, keep it out of drains and watercourses, flush the line afterwards.";
