//! What the handler is asked, and why a dog may be stopped for today. Common
//! practice, no source; the order is the one a measurer asks in.

/// A question to the handler.
pub struct Asked {
    /// Its id; its words are `question.<id>`.
    pub id: &'static str,
    /// The answer that lets a routine dog go on.
    pub clear: bool,
    /// Whether another answer ends it for today.
    pub stops: bool,
    /// What is said then.
    pub stop_key: &'static str,
    /// What is said if another answer calls for care only.
    pub care_key: &'static str,
}

/// In the order asked.
pub const ALL: &[Asked] = &[
    Asked {
        id: "bites",
        clear: false,
        stops: false,
        stop_key: "",
        care_key: "caution.may_bite",
    },
    Asked {
        id: "pain",
        clear: false,
        stops: true,
        stop_key: "refused.in_pain",
        care_key: "refused.in_pain",
    },
    Asked {
        id: "sedated",
        clear: false,
        stops: true,
        stop_key: "refused.sedated",
        care_key: "refused.sedated",
    },
    Asked {
        id: "consents",
        clear: true,
        stops: true,
        stop_key: "refused.no_consent",
        care_key: "refused.no_consent",
    },
];

/// Reasons to stop a dog for today; their words are `stop.<id>`.
pub const STOPS: &[&str] = &[
    "nervous",
    "will_not_stand",
    "pain",
    "may_bite",
    "no_consent",
    "papers",
    "chip",
    "conflict",
    "other",
];
