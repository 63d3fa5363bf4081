//! What measuring has: lengths, rule packs, drills.

use standsquare_measuring::gauge::practice::{Answer, Drill, Plan, Task};
use standsquare_measuring::{GaugeId, Length, Plain};

use super::{In, Out, Put, items, put, put_bytes, put_one_of};

items!(Plain, Answer, Task);

impl Put for Length {
    fn put(&self, to: &mut Out) {
        self.nm().put(to);
    }

    fn take(from: &mut In<'_>) -> Self {
        Length::from_nm(Put::take(from))
    }
}

impl Put for GaugeId {
    fn put(&self, to: &mut Out) {
        put_bytes(self.as_str().as_bytes(), to);
    }

    fn take(from: &mut In<'_>) -> Self {
        String::take(from).into()
    }
}

put!(Plan {
    gauge,
    placings,
    reach,
    step
});
put!(Task { height });
put!(Drill {
    plan,
    seed,
    tasks,
    hoop
});

put_one_of!(Answer { 0 Flat, 1 NotFlat, 2 Void });

put_one_of!(Plain { 0 Text(text), 1 Number(number), 2 Yes(yes), 3 List(items), 4 Table(fields), 5 Other });
