//! What is to be scheduled, and whether it can be.

use std::fmt;

/// Activities that share resources in integer time.
///
/// An activity started at `s` occupies its resources over `[s, s + duration)`. Any unit of time
/// does; the sum of all durations and lags must stay below [`LONGEST`].
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Problem {
    /// Units of each resource that are there at any time.
    pub capacities: Vec<i32>,
    /// What is to be done; the index is the activity's name in everything else here.
    pub activities: Vec<Activity>,
    /// What waits for what.
    pub precedences: Vec<Precedence>,
}

/// One piece of work that is not broken off.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Activity {
    /// Units of time; 0 is a milestone, which occupies nothing.
    pub duration: i32,
    /// Units of each resource held while it runs, in the order of [`Problem::capacities`].
    pub demands: Vec<i32>,
}

/// `after` starts no earlier than `lag` after the end of `before`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Precedence {
    /// Index of the activity that goes first.
    pub before: usize,
    /// Index of the activity that waits.
    pub after: usize,
    /// Units of time from end to start. A negative lag lets them overlap by that much, at most by
    /// the whole of `before`.
    pub lag: i32,
}

/// Sum of durations and lags above which times would not be safe in 32 bits.
pub const LONGEST: i64 = 1 << 28;

/// Why a problem has no schedule, or is none.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fault {
    /// A capacity is below 0.
    NegativeCapacity {
        /// Index of the resource.
        resource: usize,
    },
    /// A duration is below 0.
    NegativeDuration {
        /// Index of the activity.
        activity: usize,
    },
    /// An activity does not state one demand for each resource, each 0 or more.
    Demands {
        /// Index of the activity.
        activity: usize,
    },
    /// An activity asks for more than there ever is.
    TooMuch {
        /// Index of the activity.
        activity: usize,
        /// Index of the resource.
        resource: usize,
    },
    /// A precedence names an activity that is not there.
    NoSuchActivity {
        /// Index of the precedence.
        precedence: usize,
    },
    /// A lag would let an activity start before the one that it waits for.
    Lag {
        /// Index of the precedence.
        precedence: usize,
    },
    /// These activities wait for each other in a ring.
    Ring {
        /// Indices of the activities, each waiting for the one before it, the first for the last.
        activities: Vec<usize>,
    },
    /// Durations and lags add up to [`LONGEST`] or more.
    TooLong,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NegativeCapacity { resource } => write!(f, "resource {resource}: capacity < 0"),
            Self::NegativeDuration { activity } => write!(f, "activity {activity}: duration < 0"),
            Self::Demands { activity } => {
                write!(f, "activity {activity}: one demand of 0 or more for each resource, please")
            }
            Self::TooMuch { activity, resource } => {
                write!(f, "activity {activity} asks for more of resource {resource} than there is")
            }
            Self::NoSuchActivity { precedence } => {
                write!(f, "precedence {precedence} names an activity that is not there")
            }
            Self::Lag { precedence } => {
                write!(
                    f,
                    "precedence {precedence}: lag below minus the duration of what goes first"
                )
            }
            Self::Ring { activities } => {
                write!(f, "activities wait for each other in a ring: {activities:?}")
            }
            Self::TooLong => write!(f, "durations and lags add up to {LONGEST} or more"),
        }
    }
}

impl std::error::Error for Fault {}

impl Problem {
    /// Every fault of the problem; none means that a schedule exists.
    #[must_use]
    pub fn faults(&self) -> Vec<Fault> {
        let mut faults = Vec::new();
        for (resource, capacity) in self.capacities.iter().enumerate() {
            if *capacity < 0 {
                faults.push(Fault::NegativeCapacity { resource });
            }
        }
        for (activity, it) in self.activities.iter().enumerate() {
            if it.duration < 0 {
                faults.push(Fault::NegativeDuration { activity });
            }
            if it.demands.len() != self.capacities.len() || it.demands.iter().any(|d| *d < 0) {
                faults.push(Fault::Demands { activity });
            } else if it.duration > 0 {
                let short = it.demands.iter().zip(&self.capacities).position(|(d, c)| d > c);
                faults.extend(short.map(|resource| Fault::TooMuch { activity, resource }));
            }
        }
        let there = self.activities.len();
        for (precedence, it) in self.precedences.iter().enumerate() {
            if it.before >= there || it.after >= there {
                faults.push(Fault::NoSuchActivity { precedence });
            } else if i64::from(it.lag) < -i64::from(self.activities[it.before].duration) {
                faults.push(Fault::Lag { precedence });
            }
        }
        let long: i64 = self.activities.iter().map(|a| i64::from(a.duration)).sum::<i64>()
            + self.precedences.iter().map(|p| i64::from(p.lag).abs()).sum::<i64>();
        if long >= LONGEST {
            faults.push(Fault::TooLong);
        }
        if faults.is_empty() {
            faults.extend(self.ring());
        }
        faults
    }

    /// A ring of activities that wait for each other.
    fn ring(&self) -> Option<Fault> {
        let mut befores = vec![Vec::new(); self.activities.len()];
        let mut afters = vec![Vec::new(); self.activities.len()];
        for p in &self.precedences {
            befores[p.after].push(p.before);
            afters[p.before].push(p.after);
        }
        let mut waits: Vec<usize> = befores.iter().map(Vec::len).collect();
        let mut free: Vec<usize> = (0..waits.len()).filter(|i| waits[*i] == 0).collect();
        while let Some(done) = free.pop() {
            for &after in &afters[done] {
                waits[after] -= 1;
                if waits[after] == 0 {
                    free.push(after);
                }
            }
        }
        // Whoever still waits, waits for one that still waits: walking back must meet itself.
        let mut at = waits.iter().position(|w| *w > 0)?;
        let mut walk = Vec::new();
        loop {
            if let Some(first) = walk.iter().position(|i| *i == at) {
                let mut activities = walk.split_off(first);
                activities.reverse();
                return Some(Fault::Ring { activities });
            }
            walk.push(at);
            at = befores[at].iter().copied().find(|i| waits[*i] > 0)?;
        }
    }
}
