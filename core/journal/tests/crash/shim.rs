//! A file system of SQLite's (a VFS) which passes everything on to the system's own one
//! and writes down what was done: every write, cut, sync and removal, in order.
//!
//! The crate for it (sqlite-plugin) needs libclang to build, which a fresh machine has
//! not; the part wanted here is small.
#![allow(unsafe_code)] // SQLite takes a VFS as C functions; there is no other way in.

use std::ffi::{CStr, c_char, c_int, c_void};
use std::sync::{Mutex, OnceLock};

use rusqlite::ffi;

/// What was done to a file. Files are told apart by what stands behind the journal's name:
/// nothing, `-wal`, `-journal`.
#[derive(Clone, Debug)]
pub enum Op {
    Write {
        file: String,
        at: usize,
        bytes: Vec<u8>,
    },
    Cut {
        file: String,
        length: usize,
    },
    Sync {
        file: String,
    },
    /// Removed; `lasts` where the folder was synced with it.
    Remove {
        file: String,
        lasts: bool,
    },
    /// An act was answered: so many events are on the disk.
    Answered {
        events: u64,
    },
}

static LOG: Mutex<Option<Vec<Op>>> = Mutex::new(None);

fn note(op: Op) {
    if let Some(log) = LOG.lock().expect("the log").as_mut() {
        log.push(op);
    }
}

/// What is to fail next.
pub enum Fault {
    None,
    /// The write with this number from now on: the disk is full.
    Full {
        write: u32,
    },
    /// The next sync.
    Sync,
}

struct Failing {
    fault: Fault,
    happened: bool,
}

static FAILING: Mutex<Failing> = Mutex::new(Failing {
    fault: Fault::None,
    happened: false,
});

/// Makes something fail from now on; whether what was to fail before did.
pub fn fail(fault: Fault) -> bool {
    let mut failing = FAILING.lock().expect("the fault");
    let happened = failing.happened;
    *failing = Failing {
        fault,
        happened: false,
    };
    happened
}

/// The result of a write or a sync that is to fail.
fn failing(sync: bool) -> Option<c_int> {
    let mut failing = FAILING.lock().expect("the fault");
    let result = match &mut failing.fault {
        Fault::Full { write } if !sync && *write == 0 => ffi::SQLITE_FULL,
        Fault::Full { write } if !sync => {
            *write -= 1;
            return None;
        }
        Fault::Sync if sync => ffi::SQLITE_IOERR_FSYNC,
        _ => return None,
    };
    *failing = Failing {
        fault: Fault::None,
        happened: true,
    };
    Some(result)
}

/// Begins to write down.
pub fn begin() {
    install();
    *LOG.lock().expect("the log") = Some(Vec::new());
}

/// Notes that an act was answered.
pub fn answered(events: u64) {
    note(Op::Answered { events });
}

/// What was done since [`begin`].
pub fn end() -> Vec<Op> {
    LOG.lock().expect("the log").take().unwrap_or_default()
}

/// An open file: SQLite's part, then ours; the system's own file follows behind it.
#[repr(C)]
struct Open {
    methods: *const ffi::sqlite3_io_methods,
    name: *mut String,
}

fn system() -> *mut ffi::sqlite3_vfs {
    static SYSTEM: OnceLock<usize> = OnceLock::new();
    // SAFETY: SQLite gives its default file system, which lives as long as the process.
    *SYSTEM.get_or_init(|| unsafe { ffi::sqlite3_vfs_find(std::ptr::null()) as usize })
        as *mut ffi::sqlite3_vfs
}

/// Makes this file system SQLite's default one, once.
fn install() {
    static DONE: OnceLock<()> = OnceLock::new();
    DONE.get_or_init(|| {
        let system = system();
        // SAFETY: a copy of the system's own table with three of its entries changed;
        // table and name are never freed.
        unsafe {
            let mut vfs = Box::new(*system);
            vfs.zName = c"written-down".as_ptr();
            vfs.szOsFile += size_of::<Open>() as c_int;
            vfs.pNext = std::ptr::null_mut();
            vfs.xOpen = Some(open);
            vfs.xDelete = Some(remove);
            vfs.xSetSystemCall = None;
            vfs.xGetSystemCall = None;
            vfs.xNextSystemCall = None;
            let rc = ffi::sqlite3_vfs_register(Box::into_raw(vfs), 1);
            assert_eq!(rc, ffi::SQLITE_OK);
        }
    });
}

fn suffix(path: *const c_char) -> String {
    // SAFETY: SQLite gives a C string.
    let path = unsafe { CStr::from_ptr(path) }.to_string_lossy();
    ["-wal", "-journal"]
        .iter()
        .find(|s| path.ends_with(**s))
        .map_or_else(String::new, |s| (*s).to_owned())
}

/// The system's own file, which lies behind ours.
///
/// # Safety
/// `file` is one that [`open`] was given.
unsafe fn inner(file: *mut ffi::sqlite3_file) -> *mut ffi::sqlite3_file {
    unsafe { file.cast::<Open>().add(1).cast() }
}

unsafe fn name(file: *mut ffi::sqlite3_file) -> Option<String> {
    unsafe { (*file.cast::<Open>()).name.as_ref().cloned() }
}

unsafe extern "C" fn open(
    _: *mut ffi::sqlite3_vfs,
    path: *const c_char,
    file: *mut ffi::sqlite3_file,
    flags: c_int,
    out: *mut c_int,
) -> c_int {
    // SAFETY: SQLite gave room for both parts (szOsFile).
    unsafe {
        let ours = file.cast::<Open>();
        (*ours).methods = std::ptr::null();
        (*ours).name = std::ptr::null_mut();
        let system = system();
        let Some(xopen) = (*system).xOpen else {
            return ffi::SQLITE_ERROR;
        };
        let rc = xopen(system, path, inner(file), flags, out);
        if !(*inner(file)).pMethods.is_null() {
            (*ours).methods = &raw const METHODS;
        }
        if rc == ffi::SQLITE_OK && !path.is_null() {
            (*ours).name = Box::into_raw(Box::new(suffix(path)));
        }
        rc
    }
}

unsafe extern "C" fn remove(
    _: *mut ffi::sqlite3_vfs,
    path: *const c_char,
    sync_folder: c_int,
) -> c_int {
    // SAFETY: passed on as it came.
    let rc = unsafe {
        let system = system();
        (*system)
            .xDelete
            .map_or(ffi::SQLITE_ERROR, |f| f(system, path, sync_folder))
    };
    if rc == ffi::SQLITE_OK {
        note(Op::Remove {
            file: suffix(path),
            lasts: sync_folder != 0,
        });
    }
    rc
}

/// A method that is passed on as it came.
macro_rules! pass {
    ($name:ident, $method:ident ( $($arg:ident : $type:ty),* )) => {
        unsafe extern "C" fn $name(file: *mut ffi::sqlite3_file $(, $arg: $type)*) -> c_int {
            // SAFETY: the system's own method on the system's own file.
            unsafe {
                let inner = inner(file);
                match (*(*inner).pMethods).$method {
                    Some(method) => method(inner $(, $arg)*),
                    None => ffi::SQLITE_ERROR,
                }
            }
        }
    };
}

pass!(pass_close, xClose());
pass!(read, xRead(to: *mut c_void, length: c_int, at: ffi::sqlite3_int64));
pass!(pass_write, xWrite(from: *const c_void, length: c_int, at: ffi::sqlite3_int64));
pass!(pass_cut, xTruncate(length: ffi::sqlite3_int64));
pass!(pass_sync, xSync(flags: c_int));
pass!(size, xFileSize(to: *mut ffi::sqlite3_int64));
pass!(lock, xLock(level: c_int));
pass!(unlock, xUnlock(level: c_int));
pass!(reserved, xCheckReservedLock(to: *mut c_int));
pass!(control, xFileControl(op: c_int, arg: *mut c_void));
pass!(sector, xSectorSize());
pass!(traits, xDeviceCharacteristics());

unsafe extern "C" fn close(file: *mut ffi::sqlite3_file) -> c_int {
    // SAFETY: the name was made in `open` and is given back once.
    unsafe {
        let ours = file.cast::<Open>();
        if !(*ours).name.is_null() {
            drop(Box::from_raw((*ours).name));
            (*ours).name = std::ptr::null_mut();
        }
        pass_close(file)
    }
}

unsafe extern "C" fn write(
    file: *mut ffi::sqlite3_file,
    from: *const c_void,
    length: c_int,
    at: ffi::sqlite3_int64,
) -> c_int {
    if let Some(result) = failing(false) {
        return result;
    }
    // SAFETY: SQLite gives `length` bytes at `from`.
    unsafe {
        let rc = pass_write(file, from, length, at);
        if let (ffi::SQLITE_OK, Some(name)) = (rc, name(file)) {
            let bytes = std::slice::from_raw_parts(from.cast::<u8>(), length as usize);
            note(Op::Write {
                file: name,
                at: at as usize,
                bytes: bytes.to_vec(),
            });
        }
        rc
    }
}

unsafe extern "C" fn cut(file: *mut ffi::sqlite3_file, length: ffi::sqlite3_int64) -> c_int {
    // SAFETY: as for `write`.
    unsafe {
        let rc = pass_cut(file, length);
        if let (ffi::SQLITE_OK, Some(name)) = (rc, name(file)) {
            note(Op::Cut {
                file: name,
                length: length as usize,
            });
        }
        rc
    }
}

unsafe extern "C" fn sync(file: *mut ffi::sqlite3_file, flags: c_int) -> c_int {
    if let Some(result) = failing(true) {
        return result;
    }
    // SAFETY: as for `write`.
    unsafe {
        let rc = pass_sync(file, flags);
        if let (ffi::SQLITE_OK, Some(name)) = (rc, name(file)) {
            note(Op::Sync { file: name });
        }
        rc
    }
}

/// Version 1: no shared memory, which a journal never uses (one process holds it).
static METHODS: ffi::sqlite3_io_methods = ffi::sqlite3_io_methods {
    iVersion: 1,
    xClose: Some(close),
    xRead: Some(read),
    xWrite: Some(write),
    xTruncate: Some(cut),
    xSync: Some(sync),
    xFileSize: Some(size),
    xLock: Some(lock),
    xUnlock: Some(unlock),
    xCheckReservedLock: Some(reserved),
    xFileControl: Some(control),
    xSectorSize: Some(sector),
    xDeviceCharacteristics: Some(traits),
    xShmMap: None,
    xShmLock: None,
    xShmBarrier: None,
    xShmUnmap: None,
    xFetch: None,
    xUnfetch: None,
};
