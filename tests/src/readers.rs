//! Chip readers tried out with a known chip.

use crate::Table;
use crate::demo::{chip_of, close_and_send, set_up_by, sign_and_tell, to_the_chip, to_the_hoop};
use standsquare_session::Act;
use standsquare_session::act::{ReaderCarrier, ReaderLink};

/// The number of the chip on the measurers' key ring, printed beside it.
pub const KNOWN_CHIP: &str = "999000000777001";

/// A reader is chosen among several and tried out twice with the known chip.
/// `form` is what it sends.
pub fn pair(t: &mut Table, reader: &str, form: &str) {
    t.act(Act::ChooseReader {
        reader: reader.into(),
    });
    t.link_to(reader, ReaderLink::Looking);
    t.link_to(reader, ReaderLink::Connected);
    t.scan_in(form, KNOWN_CHIP);
    t.scan_in(form, KNOWN_CHIP);
    t.tap("keep_reader");
}

/// Three readers are near, each sending in its own way.
pub fn readers_near(t: &mut Table) {
    t.hears("wand-1", "Long wand", ReaderCarrier::Ble, Some(-52));
    t.hears("stick-2", "Pocket reader", ReaderCarrier::Ble, Some(-84));
    t.hears("keys-3", "", ReaderCarrier::Keys, None);
}

/// A day with readers of which nothing was known beforehand: one is tried out with a
/// known chip, dies at the second dog, whose number is typed from its display, and
/// another one is tried out in the middle of the third dog.
pub fn pairing(t: &mut Table) {
    t.act(Act::LoadRoster {
        text: standsquare_office::demo::roster_json(),
    });
    t.tap("open_readers");
    readers_near(t);
    t.act(Act::ReaderBattery {
        reader: "stick-2".into(),
        percent: 83,
    });
    pair(t, "stick-2", "line-15");
    t.tap("leave_readers");
    set_up_by(t, standsquare_office::demo::roster_json(), |_| {});
    t.link_to("stick-2", ReaderLink::Connected);
    // The code in Pip's record book finds Pip. At the table it counts for nothing.
    t.act(Act::BookCode {
        code: chip_of("pip"),
    });
    to_the_chip(t, "pip");
    t.act(Act::BookCode {
        code: chip_of("pip"),
    });
    // Fifteen digits without a check: read twice.
    t.scan_in("line-15", &chip_of("pip"));
    t.scan_in("line-15", &chip_of("pip"));
    to_the_hoop(t);
    t.tap("base_flat");
    sign_and_tell(t);
    // The reader's battery is empty.
    to_the_chip(t, "moss");
    t.link_to("stick-2", ReaderLink::Lost);
    t.act(Act::ChipTyped {
        number: chip_of("moss"),
    });
    to_the_hoop(t);
    for hoop in ["base_not_flat", "base_not_flat", "base_not_flat"] {
        t.tap(hoop);
        t.tap("stands_square");
    }
    t.tap("base_flat");
    sign_and_tell(t);
    // Another reader, with the third dog waiting at its step.
    to_the_chip(t, "juno");
    t.tap("open_readers");
    readers_near(t);
    pair(t, "wand-1", "line-hex16-right");
    t.tap("leave_readers");
    t.scan_in("line-hex16-right", &chip_of("juno"));
    t.scan_in("line-hex16-right", &chip_of("juno"));
    t.tap("not_today");
    t.act(Act::NotToday {
        reason: "nervous".into(),
    });
    sign_and_tell(t);
    close_and_send(t);
}
