//! Where a part stands in its line.

use std::fmt;

/// One step on the way to a part; counted from one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Step {
    /// A part in its row.
    Part(usize),
    /// A branch that ends in a tip of its own.
    Branch(usize),
    /// A leg that comes together with others again.
    Leg(usize),
    /// A gated outlet of an appliance.
    Outlet(usize),
    /// A floor of a standpipe.
    Floor(usize),
}

/// The way to a part: "part 2, branch 1, part 1". The empty path is the line
/// itself, at its pump outlet.
///
/// ```
/// use book::Path;
/// let path: Path = "part 2, branch 1, part 1".parse()?;
/// assert_eq!(path.to_string(), "part 2, branch 1, part 1");
/// # Ok::<(), book::PathError>(())
/// ```
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Path(pub Vec<Step>);

impl Path {
    /// This path and one step more.
    pub fn then(&self, step: Step) -> Path {
        let mut steps = self.0.clone();
        steps.push(step);
        Path(steps)
    }
}

impl fmt::Display for Step {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Step::Part(n) => write!(f, "part {n}"),
            Step::Branch(n) => write!(f, "branch {n}"),
            Step::Leg(n) => write!(f, "leg {n}"),
            Step::Outlet(n) => write!(f, "outlet {n}"),
            Step::Floor(n) => write!(f, "floor {n}"),
        }
    }
}

impl fmt::Display for Path {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.0.is_empty() {
            return f.write_str("pump outlet");
        }
        for (i, step) in self.0.iter().enumerate() {
            let comma = if i == 0 { "" } else { ", " };
            write!(f, "{comma}{step}")?;
        }
        Ok(())
    }
}

/// A text that is not the way to a part.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("\"{text}\" is not the way to a part; write it like \"part 2, branch 1, part 1\"")]
pub struct PathError {
    /// What was written.
    pub text: String,
}

impl std::str::FromStr for Path {
    type Err = PathError;

    fn from_str(text: &str) -> Result<Self, PathError> {
        if text.trim() == "pump outlet" {
            return Ok(Path::default());
        }
        let step = |written: &str| {
            let (word, number) = written.trim().split_once(' ')?;
            let number = number.trim().parse().ok().filter(|&n| n > 0)?;
            match word {
                "part" => Some(Step::Part(number)),
                "branch" => Some(Step::Branch(number)),
                "leg" => Some(Step::Leg(number)),
                "outlet" => Some(Step::Outlet(number)),
                "floor" => Some(Step::Floor(number)),
                _ => None,
            }
        };
        let steps: Option<Vec<Step>> = text.split(',').map(step).collect();
        steps
            .map(Path)
            .ok_or_else(|| PathError { text: text.into() })
    }
}
