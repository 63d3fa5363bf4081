//! Recorded sessions give the same `session.json`, byte for byte, on Rust, Kotlin
//! and Swift. This is the Rust side, and it holds the recordings against the script
//! they were made from. `STANDSQUARE_RECORD=1` writes them anew.

use std::fs;
use std::path::PathBuf;

use standsquare_session::{Phone, Recording};
use standsquare_tests::{
    Table, copies, demo, elsewhere, keys, looking, once, owner, practising, readers, refused,
    tables,
};

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("recorded")
}

type Script = fn(&mut Table);

/// Every recorded session: file name, what it shows, the script.
const SESSIONS: &[(&str, &str, Script)] = &[
    (
        "three-dogs",
        "Small at the first placing; over 35 and within 43; one stopped as not today.",
        demo::whole,
    ),
    (
        "refusals",
        "A wrong chip, a reader that vanishes, wrong PINs, an early second measure.",
        demo::refusals,
    ),
    (
        "put-right",
        "A dog waits aside; placings are made void by both; the book is read again; a paper signature.",
        demo::put_right,
    ),
    (
        "each-their-own",
        "Each measurer makes their own placings: they agree on one dog and differ on another.",
        demo::each_their_own,
    ),
    (
        "not-on-the-list",
        "A dog that nobody expected, taken by scanning it and described from its record book.",
        demo::not_on_the_list,
    ),
    (
        "looking-around",
        "A slip given and checked, a dog's history, a bite and a fall, an earlier session, the settings.",
        looking::around,
    ),
    (
        "key-lost",
        "A measurer's key is reported lost between two signatures: they sign on paper, and the dog awaits.",
        keys::lost_at_the_table,
    ),
    (
        "copies",
        "After a dog the copy goes to the other phone by codes, and the other one's is kept here and handed to the office.",
        copies::both_ways,
    ),
    (
        "signed-elsewhere",
        "The second measurer signs on their own phone, by codes, a correction as well; codes of something else are refused.",
        elsewhere::on_their_own_phone,
    ),
    (
        "list-elsewhere",
        "A session signed once: the second measurer signs the list on their own phone; what they signed of a list that was left is refused.",
        elsewhere::the_list_on_their_own_phone,
    ),
    (
        "signed-for-other",
        "A measurer signs on their own phone what other phones show as codes: a dog, a correction, a list.",
        elsewhere::for_another_phone,
    ),
    (
        "practice",
        "A trainee watches a session and says what they would have found; drills with a model dog, signed by a trainer.",
        practising::practice,
    ),
    (
        "another-dogs",
        "Placings entered under the wrong dog go to the one that is scanned; a list signed here and on paper.",
        once::another_dogs,
    ),
    (
        "signed-once",
        "Keys opened at the start, after handing over and after idling; dogs confirmed by a tap; one list signed at the close.",
        once::signed_once,
    ),
    (
        "two-tables",
        "Another table's list read off its codes: a dog measured there is not measured again, another one all the same.",
        tables::two_tables,
    ),
    (
        "two-phones",
        "A phone joins another one's session by its code; the office tells each of the other's results; one that differs is settled.",
        tables::two_phones_of_one_session,
    ),
    (
        "settled-late",
        "Two phones' results that differ are known only after the closing: settled then, and the session taken up again for it.",
        tables::settled_late,
    ),
    (
        "pairing",
        "Readers of any kind tried out with a known chip, one dying on the way; a book's code that is no read.",
        readers::pairing,
    ),
    (
        "own-phone",
        "A measurer's own phone: biometrics open her key beside the PIN, and are lost, set up again and taken away.",
        owner::own_phone,
    ),
    (
        "every-refusal",
        "A day on which everything is refused once that the core refuses.",
        refused::every_refusal,
    ),
];

/// Replays a recording and gives its `session.json`. At the end the office has
/// everything: the receipt in the recording names the very frames of the replay, so
/// a format that changed shows here.
fn replay(recording: &Recording) -> String {
    let dir = tempfile::TempDir::new().expect("a temporary folder");
    let secret: [u8; 32] = recording
        .device_secret
        .clone()
        .try_into()
        .expect("a secret of 32 bytes");
    let mut phone = Phone::open(dir.path(), secret, &recording.opened).expect("opens");
    for step in &recording.steps {
        let seen = phone.view().revision;
        phone
            .apply(&step.act, seen, &step.stamp)
            .expect("the record holds");
    }
    assert_eq!(
        phone.view().outbox.waiting,
        0,
        "the office's recorded receipt is for other bytes: has a format changed?"
    );
    phone.session_json()
}

#[test]
fn recordings_replay_to_the_same_files() {
    for (name, about, script) in SESSIONS {
        let mut table = Table::new(about);
        script(&mut table);
        let recording = table.recording();
        let json = table.phone().session_json();
        assert_eq!(
            replay(recording),
            json,
            "{name}: replaying gives another session.json"
        );

        let text = serde_json::to_string_pretty(recording).expect("JSON") + "\n";
        let at = folder().join(format!("{name}.json"));
        let result = folder().join(format!("{name}.session.json"));
        if std::env::var_os("STANDSQUARE_RECORD").is_some() {
            fs::create_dir_all(folder()).expect("the folder");
            fs::write(&at, &text).expect("writes");
            fs::write(&result, &json).expect("writes");
        }
        let kept = fs::read_to_string(&result).unwrap_or_default();
        assert_eq!(
            kept, json,
            "{name}: session.json is no longer what was recorded"
        );
        let kept = fs::read_to_string(&at).expect("the recording");
        let kept = Recording::read(&kept).expect("a recording");
        assert_eq!(
            replay(&kept),
            json,
            "{name}: the recording on file gives another session.json"
        );
    }
}

#[test]
fn every_recording_on_file_is_known_here() {
    let mut on_file: Vec<String> = fs::read_dir(folder())
        .expect("the folder")
        .filter_map(|e| e.ok()?.file_name().into_string().ok())
        .filter(|n| n.ends_with(".json") && !n.ends_with(".session.json"))
        .collect();
    on_file.sort();
    let mut known: Vec<String> = SESSIONS.iter().map(|(n, ..)| format!("{n}.json")).collect();
    known.sort();
    assert_eq!(on_file, known);
}
