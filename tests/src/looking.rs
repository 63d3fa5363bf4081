//! Everything that is looked at beside a session, and what is recorded of it, as a person
//! would tap it.

use standsquare_session::Act;
use standsquare_session::view::Screen;

use crate::Table;
use crate::demo;

/// The act that a line of the page on the glass leads to.
///
/// # Panics
/// If there is no such line, or it leads nowhere.
pub fn open_line(t: &mut Table, id: &str) {
    let sections = match &t.view().screen {
        Screen::Past { past } => &past.sections,
        Screen::History { history } => &history.sections,
        Screen::Settings { settings } => &settings.sections,
        other => panic!("no page: {other:?}"),
    };
    let mut lines = sections.iter().flat_map(|s| &s.lines);
    let line = lines.find(|l| l.id == id).expect("the line");
    let act = line.open.clone().expect("it leads somewhere");
    t.act(act);
}

/// The text of the code on the glass, read back from its modules as a camera would.
fn shown_slip(t: &Table) -> String {
    let Screen::Slip { slip } = &t.view().screen else {
        panic!("no slip: {}", t.screen())
    };
    read_code(slip.code.side as usize, &slip.code.modules)
}

/// Reads a code with a reader of its own (the crate rqrr).
///
/// # Panics
/// If a camera could not read it.
pub fn read_code(side: usize, modules: &[u8]) -> String {
    // Four modules of light all round, and a few pixels a module, as on glass.
    let (edge, scale) = (4, 4);
    let pixels = (side + 2 * edge) * scale;
    let dark = |x: usize, y: usize| {
        let at = |n: usize| (n / scale).checked_sub(edge).filter(|n| *n < side);
        matches!((at(x), at(y)), (Some(x), Some(y)) if modules[y * side + x] == 1)
    };
    let mut seen = rqrr::PreparedImage::prepare_from_greyscale(pixels, pixels, |x, y| {
        if dark(x, y) { 0 } else { 255 }
    });
    let grids = seen.detect_grids();
    let (_, text) = grids.first().expect("a code").decode().expect("it reads");
    text
}

/// A session with a slip, a bite and a fall; then everything about it is looked at.
pub fn around(t: &mut Table) {
    demo::set_up(t);
    // What is refused: no slip yet, a session that is not here, words without an end.
    t.act(Act::OpenSlip { dog: "pip".into() });
    t.act(Act::OpenPast {
        session: "00".into(),
    });
    record(t, "fall", "other", &"x".repeat(401));
    // A fall before any dog is at the table.
    t.tap("incident");
    record(t, "fall", "other", "");
    demo::to_the_chip(t, "pip");
    t.scan("999000000112233");
    demo::to_the_hoop(t);
    t.tap("base_flat");
    t.both_sign();
    t.tap("book_written");
    t.tap("slip");
    let slip = shown_slip(t);
    t.act(Act::CalendarEntry {
        dog: "pip".into(),
        summary: "Pip: second height measure".into(),
    });
    t.tap("print_slip");
    t.tap("leave_look");
    // The handler does not agree; words without an end are refused.
    object(t, "pip", &"x".repeat(601));
    object(t, "pip", "He was frightened and crouched.");
    t.tap("handler_told");
    // A bite at the next dog.
    demo::to_the_chip(t, "moss");
    t.tap("incident");
    record(t, "bite", "measurer", "on the hand, bleeding stopped");
    t.scan(&demo::chip_of("moss"));
    demo::to_the_hoop(t);
    t.tap("base_flat");
    demo::sign_and_tell(t);
    demo::juno(t, |t, chip| {
        t.scan(chip);
    });
    // Later, from the queue: what is known of Pip, and its slip again.
    t.act(Act::OpenHistory {
        chip: demo::chip_of("pip"),
    });
    t.tap("slip");
    t.tap("leave_look");
    object(t, "pip", "");
    t.tap("open_settings");
    t.tap("leave_look");
    demo::close_and_send(t);
    t.tap("print_return");
    t.tap("leave_session");
    // From home: somebody shows a slip; one that is none; one that was altered.
    t.tap("open_slip_check");
    for text in [
        slip.clone(),
        "https://hollin.example".into(),
        slip.replacen('A', "B", 1),
    ] {
        t.act(Act::CheckSlip { text });
    }
    t.act(Act::CheckSlip { text: slip });
    t.tap("leave_look");
    t.tap("open_settings");
    t.tap("open_readers");
    t.tap("leave_readers");
    t.tap("leave_look");
    let Screen::Home { home } = &t.view().screen else {
        panic!("not home: {}", t.screen())
    };
    let open = home.sessions[0].open.clone();
    t.act(open);
    open_line(t, "moss");
    t.tap("leave_look");
    t.tap("share_return");
    t.tap("print_return");
    t.tap("leave_look");
}

/// The handler of this dog objects, by the button on the glass.
pub fn object(t: &mut Table, dog: &str, words: &str) {
    if t.screen() != "objection" {
        t.tap("objection");
    }
    t.act(Act::RecordObjection {
        dog: dog.into(),
        words: words.into(),
    });
}

/// Records that this happened.
pub fn record(t: &mut Table, what: &str, whom: &str, words: &str) {
    t.act(Act::RecordIncident {
        what: what.into(),
        whom: whom.into(),
        words: words.into(),
    });
}
