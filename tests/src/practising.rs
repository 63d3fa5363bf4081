//! Practice, as a person would tap it: a trainee who watches, drills, and rules that state how sure
//! a category is.

use crate::Table;
use crate::demo::*;
use standsquare_session::Act;
use standsquare_session::view::Screen;

/// The demo's rules with a spread of 5 mm, heights as of a real list, and shown to these people how
/// sure a category is.
pub fn stating(shown_to: &str) -> String {
    stating_spread("5 mm", shown_to)
}

/// The same with this spread.
pub fn stating_spread(spread: &str, shown_to: &str) -> String {
    let table = format!(
        "[sureness]\nspread = \"{spread}\"\nshown_to = \"{shown_to}\"\nheights = [{{ from = \"25 cm\", \
         to = \"35 cm\", dogs = 100 }}, {{ from = \"35 cm\", to = \"43 cm\", dogs = 100 }}, \
         {{ from = \"43 cm\", to = \"60 cm\", dogs = 100 }}]\n\n[records]"
    );
    roster_with("[records]", &table)
}

/// From a roster to an open queue, with a trainee who watches.
pub fn set_up_watched(t: &mut Table) {
    set_up_seating(t, Table::reader_connects, |t| {
        t.act(Act::TraineeWatches {
            person: "wren".into(),
            here: true,
        });
    });
}

/// A drill of whoever's page is open, on the small hoop: right but for dogs a millimetre off, of which
/// `slips` are taken the wrong way.
pub fn drill(t: &mut Table, mut slips: u32) {
    t.tap("drill_hoop-35");
    while let Screen::Drill { drill } = &t.view().screen {
        let off = drill.set_to_um - 350_000;
        let slip = off.abs() <= 3_000 && slips > 0;
        slips -= u32::from(slip);
        t.tap(if (off <= 0) != slip {
            "base_flat"
        } else {
            "base_not_flat"
        });
    }
}

/// A trainee watches a session and says what they would have found; afterwards they practise with a
/// model dog until there is a chart, and a trainer signs.
pub fn practice(t: &mut Table) {
    practice_with(t, in_pieces);
}

/// The same with another way to present a chip.
pub fn practice_with(t: &mut Table, scan: Scan) {
    t.act(Act::LoadRoster {
        text: stating("handler"),
    });
    t.tap("practice");
    t.act(Act::OpenOwn {
        person: "wren".into(),
    });
    t.tap("leave_page");
    t.tap("leave_page");
    set_up_watched(t);
    to_the_chip(t, "pip");
    scan(t, "999000000112233");
    to_the_hoop(t);
    t.tap("shadow_wren");
    t.act(Act::Shadow {
        category: "medium".into(),
    });
    t.tap("base_flat");
    sign_and_tell(t);
    t.tap("review_close");
    t.tap("close_session");
    t.tap("leave_session");
    t.tap("practice");
    t.act(Act::OpenOwn {
        person: "wren".into(),
    });
    for slips in [3, 2, 3, 1, 2, 1] {
        drill(t, slips);
        for pin in ["0000", PINS[0].1] {
            t.act(Act::SignPractice {
                person: PINS[0].0.into(),
                pin: pin.into(),
            });
        }
        t.tap("leave_drill");
    }
    t.tap("leave_page");
    t.tap("leave_page");
    t.tap("send_return");
    t.office_answers();
}
