//! The phone's own battery, as the moment knows it. Nothing of it is recorded: it changes
//! nothing that was measured. What it is good for is a copy in time.

/// Percent from which on it is said. Own choice, no source: at a show's pace an hour or more is
/// left to make a copy in.
const LOW: u8 = 15;
/// Percent from which on it is low no more: between the two nothing is said again and again.
/// Own choice, no source.
const WELL: u8 = 20;

/// What is known of it.
#[derive(Clone, Copy, Debug, Default)]
pub struct Battery {
    low: Option<u8>,
}

impl Battery {
    /// The platform tells what is left; whether it has just become low.
    pub fn told(&mut self, percent: u8, charging: bool) -> bool {
        let was = self.low;
        self.low = match (charging, was) {
            (true, _) => None,
            (false, None) if percent > LOW => None,
            (false, Some(_)) if percent >= WELL => None,
            (false, _) => Some(percent),
        };
        was.is_none() && self.low.is_some()
    }

    /// What is left where that is little and the phone is not being charged, percent.
    pub fn low(self) -> Option<u8> {
        self.low
    }
}

#[cfg(test)]
mod tests {
    use super::Battery;

    #[test]
    fn it_is_said_once_when_it_becomes_low_and_again_only_after_it_was_well() {
        let mut battery = Battery::default();
        let mut said = Vec::new();
        for (percent, charging) in [
            (100, false),
            (16, false),
            (15, false),
            (16, false),
            (14, false),
            (19, false),
            (20, false),
            (15, false),
            (3, true),
            (3, false),
            (0, false),
        ] {
            said.push((battery.told(percent, charging), battery.low().is_some()));
        }
        let low = |new| (new, true);
        let well = (false, false);
        assert_eq!(
            said,
            [
                well,
                well,
                low(true),
                low(false),
                low(false),
                low(false),
                well,
                low(true),
                well,
                low(true),
                low(false)
            ]
        );
    }
}
