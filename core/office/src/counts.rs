//! What is counted for whoever runs the office: numbers only, nothing of any dog or person.

use std::fmt::Write;
use std::sync::atomic::{AtomicU64, Ordering};

/// A number that only grows, from the program's start on.
#[derive(Debug, Default)]
pub struct Count(AtomicU64);

impl Count {
    /// So many more.
    pub fn count(&self, more: usize) {
        self.0.fetch_add(more as u64, Ordering::Relaxed);
    }

    fn now(&self) -> u64 {
        self.0.load(Ordering::Relaxed)
    }
}

/// Everything that is counted.
#[derive(Debug, Default)]
pub struct Counts {
    /// Posts that were answered with a receipt.
    pub posts: Count,
    /// Posts that came in packets, answered in whatever way.
    pub posts_in_packets: Count,
    /// Posts that were refused as a whole.
    pub posts_refused: Count,
    /// Frames named as held.
    pub held: Count,
    /// Frames refused or set aside.
    pub refused: Count,
    /// Frames that got their place in the log.
    pub logged: Count,
    /// Phones that were enrolled, or answered so again.
    pub enrolled: Count,
    /// Enrolments that were refused.
    pub enrol_refused: Count,
    /// Editions of the roster given to enrolled phones.
    pub editions: Count,
    /// Looks at a dog, a measure, a session, and searches.
    pub looks: Count,
    /// Handlers' words that were erased because their time was over.
    pub words_erased: Count,
    /// Answers that the database did not allow.
    pub faults: Count,
}

impl Counts {
    /// In the text form that monitoring programs read (Prometheus exposition format 0.0.4).
    pub fn text(&self) -> String {
        let all = [
            ("posts", "Posts answered with a receipt", &self.posts),
            (
                "posts_in_packets",
                "Posts that came in packets",
                &self.posts_in_packets,
            ),
            (
                "posts_refused",
                "Posts refused as a whole",
                &self.posts_refused,
            ),
            ("frames_held", "Frames named as held", &self.held),
            (
                "frames_refused",
                "Frames refused or set aside",
                &self.refused,
            ),
            (
                "frames_logged",
                "Frames given their place in the log",
                &self.logged,
            ),
            ("enrolled", "Phones answered as enrolled", &self.enrolled),
            (
                "enrolments_refused",
                "Enrolments refused",
                &self.enrol_refused,
            ),
            (
                "editions",
                "Editions of the roster given to phones",
                &self.editions,
            ),
            ("looks", "Looks at records, and searches", &self.looks),
            (
                "words_erased",
                "Words of objections erased after their time",
                &self.words_erased,
            ),
            (
                "database_faults",
                "Answers that the database did not allow",
                &self.faults,
            ),
        ];
        let mut text = String::new();
        for (name, help, count) in all {
            let _ = write!(
                text,
                "# HELP standsquare_{name}_total {help}.\n# TYPE standsquare_{name}_total \
                 counter\nstandsquare_{name}_total {}\n",
                count.now()
            );
        }
        text
    }
}
