//! Where a frame is, as far as the phone can prove it, and when it may be forgotten.

/// Where a frame is. The order is that of safety.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Whereabouts {
    /// On this phone and, as far as is known, nowhere else.
    OnPhone,
    /// The office has signed that it holds it.
    AtOffice,
    /// It is proved to be in the office's signed log.
    InLog,
}

/// Where a frame is, from what the phone has proofs of.
pub fn whereabouts(receipt: bool, in_log: bool) -> Whereabouts {
    match (receipt, in_log) {
        (_, true) => Whereabouts::InLog,
        (true, false) => Whereabouts::AtOffice,
        (false, false) => Whereabouts::OnPhone,
    }
}

/// Whether the phone may forget a frame: only one that is proved to be in the log, and
/// only when `keep_ms` have passed since that was proved. Times are milliseconds of
/// the phone's own clock; one that was set back keeps the frame.
pub fn may_forget(
    whereabouts: Whereabouts,
    in_log_since_ms: i64,
    now_ms: i64,
    keep_ms: i64,
) -> bool {
    whereabouts == Whereabouts::InLog
        && now_ms
            .checked_sub(in_log_since_ms)
            .is_some_and(|passed| passed >= keep_ms.max(0))
}
