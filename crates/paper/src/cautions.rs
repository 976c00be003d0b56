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

/// Where a test is planned or reported.
pub(crate) const TEST: [&str; 9] = [
    "Figures are test values of this equipment on that day. The authority having jurisdiction, the makers' instructions and qualified instructors decide; local rules come first.",
    "Never above the service pressure of any hose, nor the working pressure of any gauge, meter or appliance.",
    "A hose or coupling that fails whips: nobody beside or astride a hose under pressure that need not be. Tie the nozzle or tip down; crew ready and footing firm before water comes.",
    "Open and shut slowly. Shut down from the pump; drain before anything is unscrewed.",
    "Nobody in front of the stream. Keep clear of the pitot's stream with face and hands.",
    "Ears and eyes are protected; helmets, gloves and boots are worn.",
    "Electricity: keep the clearance that local rules give.",
    "In frost keep water moving or drain hose, gauges and meter; ice makes footing bad.",
    "Anybody who sees something wrong may stop the test.",
];
