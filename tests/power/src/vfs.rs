//! The one place with unsafe code: the interface through which the database reaches a [`PowerDisk`].
//!
//! Test code, never shipped. The database library takes a table of C functions; each function here
//! does nothing but turn its pointers into values, ask the disk, and give a number back. What makes
//! it sound:
//!
//! - the tables are leaked once and live as long as the process;
//! - a `Handle` is boxed in `open`, its pointer kept in the room the library reserved for it
//!   (`szOsFile`), and freed in `close`, which the library calls exactly once for each open file;
//! - the library uses an open file from one thread at a time (a connection is not shared);
//! - buffers come with their lengths from the library and are used within these only.
#![allow(unsafe_code)]

use std::collections::BTreeMap;
use std::ffi::{CStr, c_char, c_int, c_void};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Mutex, Once, PoisonError};

use rusqlite::ffi;

use crate::content::Content;
use crate::disk::{Lie, PowerDisk};

static DISKS: Mutex<BTreeMap<PathBuf, PowerDisk>> = Mutex::new(BTreeMap::new());
static REGISTERED: Once = Once::new();

/// Lets the database find a disk by its root. From the first call on the database of this process
/// knows no other files.
pub(crate) fn mount(disk: &PowerDisk) {
    REGISTERED.call_once(register);
    let mut disks = DISKS.lock().unwrap_or_else(PoisonError::into_inner);
    disks.insert(disk.root().to_owned(), disk.clone());
}

pub(crate) fn unmount(root: &Path) {
    let mut disks = DISKS.lock().unwrap_or_else(PoisonError::into_inner);
    disks.remove(root);
}

/// The disk a path is on, and the path's name there.
fn find(path: &Path) -> Option<(PowerDisk, PathBuf)> {
    let disks = DISKS.lock().unwrap_or_else(PoisonError::into_inner);
    let disk = path.ancestors().find_map(|above| disks.get(above))?.clone();
    let name = disk.name_of(path).ok()?;
    Some((disk, name))
}

/// An open file.
struct Handle {
    place: Place,
    /// The folder to sync with the first sync of a new journal, as the library's own layer does.
    new_in: Option<PathBuf>,
}

enum Place {
    OnDisk {
        disk: PowerDisk,
        file: usize,
        remove: Option<PathBuf>,
        is_journal: bool,
    },
    /// A nameless file that nobody finds after a crash.
    Scratch(Content),
}

#[repr(C)]
struct OpenFile {
    base: ffi::sqlite3_file,
    handle: *mut Handle,
}

fn register() {
    let methods = Box::leak(Box::new(ffi::sqlite3_io_methods {
        iVersion: 1,
        xClose: Some(close),
        xRead: Some(read),
        xWrite: Some(write),
        xTruncate: Some(truncate),
        xSync: Some(sync),
        xFileSize: Some(file_size),
        xLock: Some(lock),
        xUnlock: Some(lock),
        xCheckReservedLock: Some(check_reserved_lock),
        xFileControl: Some(file_control),
        xSectorSize: Some(sector_size),
        xDeviceCharacteristics: Some(device_characteristics),
        xShmMap: None,
        xShmLock: None,
        xShmBarrier: None,
        xShmUnmap: None,
        xFetch: None,
        xUnfetch: None,
    }));
    let vfs = Box::leak(Box::new(ffi::sqlite3_vfs {
        iVersion: 1,
        szOsFile: c_int::try_from(size_of::<OpenFile>()).unwrap_or(c_int::MAX),
        mxPathname: 1024,
        pNext: std::ptr::null_mut(),
        zName: c"winze-power".as_ptr(),
        pAppData: std::ptr::from_mut(methods).cast(),
        xOpen: Some(open),
        xDelete: Some(delete),
        xAccess: Some(access),
        xFullPathname: Some(full_pathname),
        xDlOpen: None,
        xDlError: None,
        xDlSym: None,
        xDlClose: None,
        xRandomness: Some(randomness),
        xSleep: Some(sleep),
        xCurrentTime: Some(current_time),
        xGetLastError: None,
        xCurrentTimeInt64: None,
        xSetSystemCall: None,
        xGetSystemCall: None,
        xNextSystemCall: None,
    }));
    // SAFETY: both tables are leaked, so they outlive every use.
    let answer = unsafe { ffi::sqlite3_vfs_register(vfs, 1) };
    assert_eq!(answer, ffi::SQLITE_OK, "the database takes our file layer");
}

/// # Safety
/// `file` must be one that `open` filled in and `close` has not been called for.
unsafe fn handle<'a>(file: *mut ffi::sqlite3_file) -> &'a mut Handle {
    // SAFETY: `open` stored a boxed handle, and the library uses a file from one thread at a time.
    unsafe { &mut *(*file.cast::<OpenFile>()).handle }
}

/// # Safety
/// `name` must be null or a string that ends with zero.
unsafe fn path_of(name: *const c_char) -> Option<PathBuf> {
    if name.is_null() {
        return None;
    }
    // SAFETY: by the caller.
    let text = unsafe { CStr::from_ptr(name) };
    text.to_str().ok().map(PathBuf::from)
}

unsafe extern "C" fn open(
    vfs: *mut ffi::sqlite3_vfs,
    name: ffi::sqlite3_filename,
    file: *mut ffi::sqlite3_file,
    flags: c_int,
    out_flags: *mut c_int,
) -> c_int {
    // SAFETY: the library hands over `szOsFile` bytes; null methods mean "not open".
    unsafe { (*file).pMethods = std::ptr::null() };
    // SAFETY: a file name of the library is null or ends with zero.
    let place = match unsafe { path_of(name) } {
        None => Some((Place::Scratch(Content::default()), None)),
        Some(path) => open_on_disk(&path, flags),
    };
    let Some((place, new_in)) = place else {
        return ffi::SQLITE_CANTOPEN;
    };
    let boxed = Box::new(Handle { place, new_in });
    // SAFETY: as above; `pAppData` is the leaked table of methods, `out_flags` null or writable.
    unsafe {
        (*file.cast::<OpenFile>()).handle = Box::into_raw(boxed);
        (*file).pMethods = (*vfs).pAppData.cast();
        if !out_flags.is_null() {
            *out_flags = flags;
        }
    }
    ffi::SQLITE_OK
}

fn open_on_disk(path: &Path, flags: c_int) -> Option<(Place, Option<PathBuf>)> {
    let (disk, name) = find(path)?;
    let is_wal = flags & ffi::SQLITE_OPEN_WAL != 0;
    let is_journal = is_wal || flags & ffi::SQLITE_OPEN_MAIN_JOURNAL != 0;
    let mut state = disk.lock();
    if is_wal && state.refuses_wal {
        return None;
    }
    let (file, is_new) = match state.names.get(&name) {
        Some(file) => (*file, false),
        None if flags & ffi::SQLITE_OPEN_CREATE != 0 => (state.create(name.clone()), true),
        None => return None,
    };
    drop(state);
    let new_in = (is_new && is_journal).then(|| name.parent().unwrap_or(Path::new("")).to_owned());
    let remove = (flags & ffi::SQLITE_OPEN_DELETEONCLOSE != 0).then_some(name);
    let place = Place::OnDisk {
        disk,
        file,
        remove,
        is_journal,
    };
    Some((place, new_in))
}

unsafe extern "C" fn close(file: *mut ffi::sqlite3_file) -> c_int {
    // SAFETY: the library closes each open file once; the pointer came from `Box::into_raw`.
    let handle = unsafe { Box::from_raw((*file.cast::<OpenFile>()).handle) };
    if let Place::OnDisk {
        disk,
        remove: Some(name),
        ..
    } = &handle.place
    {
        let _ = disk.lock().remove(name);
    }
    ffi::SQLITE_OK
}

unsafe extern "C" fn read(
    file: *mut ffi::sqlite3_file,
    buffer: *mut c_void,
    amount: c_int,
    offset: ffi::sqlite3_int64,
) -> c_int {
    let (Ok(amount), Ok(offset)) = (usize::try_from(amount), usize::try_from(offset)) else {
        return ffi::SQLITE_IOERR_READ;
    };
    // SAFETY: the library's buffer has `amount` bytes.
    let out = unsafe { std::slice::from_raw_parts_mut(buffer.cast::<u8>(), amount) };
    out.fill(0);
    // SAFETY: an open file.
    let got = match &unsafe { handle(file) }.place {
        Place::OnDisk { disk, file, .. } => disk.lock().files[*file].read_at(offset, out),
        Place::Scratch(content) => content.read_at(offset, out),
    };
    if got == amount {
        ffi::SQLITE_OK
    } else {
        ffi::SQLITE_IOERR_SHORT_READ
    }
}

unsafe extern "C" fn write(
    file: *mut ffi::sqlite3_file,
    buffer: *const c_void,
    amount: c_int,
    offset: ffi::sqlite3_int64,
) -> c_int {
    let (Ok(amount), Ok(offset)) = (usize::try_from(amount), usize::try_from(offset)) else {
        return ffi::SQLITE_IOERR_WRITE;
    };
    // SAFETY: the library's buffer has `amount` bytes.
    let bytes = unsafe { std::slice::from_raw_parts(buffer.cast::<u8>(), amount) };
    // SAFETY: an open file.
    match &mut unsafe { handle(file) }.place {
        Place::OnDisk { disk, file, .. } => match disk.lock().write(*file, offset, bytes) {
            Ok(()) => ffi::SQLITE_OK,
            Err(_) => ffi::SQLITE_FULL,
        },
        Place::Scratch(content) => {
            content.write_at(offset, bytes);
            ffi::SQLITE_OK
        }
    }
}

unsafe extern "C" fn truncate(file: *mut ffi::sqlite3_file, size: ffi::sqlite3_int64) -> c_int {
    let Ok(length) = usize::try_from(size) else {
        return ffi::SQLITE_IOERR_TRUNCATE;
    };
    // SAFETY: an open file.
    match &mut unsafe { handle(file) }.place {
        Place::OnDisk { disk, file, .. } => disk.lock().truncate(*file, length),
        Place::Scratch(content) => content.truncate(length),
    }
    ffi::SQLITE_OK
}

unsafe extern "C" fn sync(file: *mut ffi::sqlite3_file, _flags: c_int) -> c_int {
    // SAFETY: an open file.
    let handle = unsafe { handle(file) };
    if let Place::OnDisk {
        disk,
        file,
        is_journal,
        ..
    } = &handle.place
    {
        let mut state = disk.lock();
        if *is_journal {
            state.sync(*file, Lie::JournalSync);
        } else {
            state.sync(*file, Lie::DatabaseSync);
        }
        if let Some(folder) = handle.new_in.take() {
            state.sync_folder(&folder);
        }
    }
    ffi::SQLITE_OK
}

unsafe extern "C" fn file_size(
    file: *mut ffi::sqlite3_file,
    size: *mut ffi::sqlite3_int64,
) -> c_int {
    // SAFETY: an open file.
    let length = match &unsafe { handle(file) }.place {
        Place::OnDisk { disk, file, .. } => disk.lock().files[*file].len(),
        Place::Scratch(content) => content.len(),
    };
    // SAFETY: the library's place for the answer.
    unsafe { *size = ffi::sqlite3_int64::try_from(length).unwrap_or(ffi::sqlite3_int64::MAX) };
    ffi::SQLITE_OK
}

/// The logbook's own lock keeps others out.
unsafe extern "C" fn lock(_file: *mut ffi::sqlite3_file, _level: c_int) -> c_int {
    ffi::SQLITE_OK
}

unsafe extern "C" fn check_reserved_lock(
    _file: *mut ffi::sqlite3_file,
    answer: *mut c_int,
) -> c_int {
    // SAFETY: the library's place for the answer.
    unsafe { *answer = 0 };
    ffi::SQLITE_OK
}

unsafe extern "C" fn file_control(
    _file: *mut ffi::sqlite3_file,
    _what: c_int,
    _argument: *mut c_void,
) -> c_int {
    ffi::SQLITE_NOTFOUND
}

/// As the library's own layer answers for a Unix file system.
unsafe extern "C" fn sector_size(_file: *mut ffi::sqlite3_file) -> c_int {
    4096
}

/// As the library's own layer answers for a Unix file system: writing some bytes does not harm
/// their neighbours.
unsafe extern "C" fn device_characteristics(_file: *mut ffi::sqlite3_file) -> c_int {
    ffi::SQLITE_IOCAP_POWERSAFE_OVERWRITE
}

unsafe extern "C" fn delete(
    _vfs: *mut ffi::sqlite3_vfs,
    name: *const c_char,
    sync_folder: c_int,
) -> c_int {
    // SAFETY: a name that ends with zero.
    let Some((disk, name)) = unsafe { path_of(name) }.and_then(|path| find(&path)) else {
        return ffi::SQLITE_IOERR_DELETE;
    };
    let mut state = disk.lock();
    if state.remove(&name).is_err() {
        return ffi::SQLITE_IOERR_DELETE_NOENT;
    }
    if sync_folder != 0 {
        state.sync_folder(name.parent().unwrap_or(Path::new("")));
    }
    ffi::SQLITE_OK
}

unsafe extern "C" fn access(
    _vfs: *mut ffi::sqlite3_vfs,
    name: *const c_char,
    _flags: c_int,
    answer: *mut c_int,
) -> c_int {
    // SAFETY: a name that ends with zero.
    let found = unsafe { path_of(name) }
        .and_then(|path| find(&path))
        .is_some_and(|(disk, name)| {
            let state = disk.lock();
            // As the library's own layer: an empty file is as good as none.
            let file = state.names.get(&name);
            file.is_some_and(|file| !state.files[*file].is_empty())
        });
    // SAFETY: the library's place for the answer.
    unsafe { *answer = c_int::from(found) };
    ffi::SQLITE_OK
}

unsafe extern "C" fn full_pathname(
    _vfs: *mut ffi::sqlite3_vfs,
    name: *const c_char,
    room: c_int,
    out: *mut c_char,
) -> c_int {
    // SAFETY: a name that ends with zero.
    let bytes = unsafe { CStr::from_ptr(name) }.to_bytes_with_nul();
    if usize::try_from(room).is_ok_and(|room| bytes.len() <= room) {
        // SAFETY: just measured.
        unsafe { std::ptr::copy_nonoverlapping(bytes.as_ptr().cast(), out, bytes.len()) };
        ffi::SQLITE_OK
    } else {
        ffi::SQLITE_CANTOPEN
    }
}

/// Numbers that differ, which is all that the journal's salt needs here.
unsafe extern "C" fn randomness(
    _vfs: *mut ffi::sqlite3_vfs,
    count: c_int,
    out: *mut c_char,
) -> c_int {
    static NEXT: AtomicU64 = AtomicU64::new(1);
    let count_usize = usize::try_from(count).unwrap_or(0);
    // SAFETY: the library's buffer has `count` bytes.
    let out = unsafe { std::slice::from_raw_parts_mut(out.cast::<u8>(), count_usize) };
    for part in out.chunks_mut(8) {
        let next = NEXT.fetch_add(1, Ordering::Relaxed);
        let mixed = next.wrapping_mul(0x9e37_79b9_7f4a_7c15).to_le_bytes();
        part.copy_from_slice(&mixed[..part.len()]);
    }
    count
}

unsafe extern "C" fn sleep(_vfs: *mut ffi::sqlite3_vfs, microseconds: c_int) -> c_int {
    microseconds
}

/// A Julian day; no time of the database is ever used.
unsafe extern "C" fn current_time(_vfs: *mut ffi::sqlite3_vfs, out: *mut f64) -> c_int {
    // SAFETY: the library's place for the answer.
    unsafe { *out = 2_461_000.5 };
    ffi::SQLITE_OK
}
