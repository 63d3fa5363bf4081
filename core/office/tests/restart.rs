//! The office as a process over a file: acknowledged is kept, whatever happens.

mod support;

use standsquare_office::db::{DbFault, SqliteDb};
use standsquare_office::{OfficeState, demo};
use support::*;

fn open(dir: &std::path::Path) -> OfficeState {
    let engine = SqliteDb::open(&dir.join("office.sqlite")).expect("the database opens");
    OfficeState::open(Box::new(engine), demo::demo_only_key(), demo::roster()).expect("it opens")
}

#[test]
fn what_was_acknowledged_is_there_after_a_restart() {
    let dir = tempfile::tempdir().expect("a folder");
    let pen = two_dogs(1);
    held(&open(dir.path()), &pen.frames[..1]);
    // Not closed in any way: the next one opens what the first one left.
    let office = open(dir.path());
    std::mem::forget(open(dir.path()));
    held(&office, &pen.frames[1..]);
    let again = open(dir.path());
    assert_eq!(again.session(SESSION).expect("the session").1.len(), 2);
    held(&again, &pen.frames);
}

#[test]
fn many_posts_at_once_take_everything_in_once() {
    let dir = tempfile::tempdir().expect("a folder");
    let office = open(dir.path());
    let pen = two_dogs(1);
    std::thread::scope(|scope| {
        for n in 0..6 {
            let (office, pen) = (&office, &pen);
            scope.spawn(move || {
                for i in 0..3 {
                    held(office, &[pen.frames[(n + i) % 3].clone()]);
                }
            });
        }
    });
    assert_eq!(office.session(SESSION).expect("the session").1.len(), 2);
    assert!(office.set_aside(9).expect("a list").is_empty());
    assert_eq!(office.waiting().expect("a number"), 0);
}

#[test]
fn data_of_a_newer_version_are_left_alone() {
    let dir = tempfile::tempdir().expect("a folder");
    let file = dir.path().join("office.sqlite");
    drop(SqliteDb::open(&file).expect("made"));
    let connection = rusqlite::Connection::open(&file).expect("opened");
    connection
        .pragma_update(None, "user_version", 99)
        .expect("changed");
    drop(connection);
    assert!(matches!(
        SqliteDb::open(&file),
        Err(DbFault::TooNew { found: 99, .. })
    ));
}

#[test]
fn a_file_that_is_no_database_is_left_alone() {
    let dir = tempfile::tempdir().expect("a folder");
    let file = dir.path().join("office.sqlite");
    let text = "this is a shopping list, not a database, and long enough to tell".repeat(20);
    std::fs::write(&file, &text).expect("written");
    assert!(matches!(SqliteDb::open(&file), Err(DbFault::Engine(_))));
    assert_eq!(std::fs::read_to_string(&file).expect("still there"), text);
}
