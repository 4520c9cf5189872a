//! What the same records cost elsewhere: bare signature checks, bare hashes, bare rows in a database, and
//! as objects of git.

use std::fmt::Write as _;
use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Stdio};

use ed25519_dalek::{Signature, VerifyingKey};
use sha2::{Digest, Sha256};
use winze_sync_format::{MARK, RecordRef, parse_item};

use super::measure::{measured, tell};

/// A record taken apart: its name, its bytes, what is signed, the signature, the number of its key.
pub struct Part {
    at: RecordRef,
    item: Vec<u8>,
    message: Vec<u8>,
    signature: Signature,
    key: usize,
}

/// Takes a bundle apart, without header and trailer.
pub fn take_apart(bundle: &Path) -> (Vec<Part>, Vec<VerifyingKey>) {
    let bytes = std::fs::read(bundle).expect("the bundle");
    let mut rest = &bytes[..bytes.len() - 9];
    let (mut parts, mut keys) = (Vec::new(), Vec::<VerifyingKey>::new());
    while !rest.is_empty() {
        let (item, length) = parse_item(rest).expect("a whole item");
        let at = item.claimed();
        let known = keys.iter().position(|key| key.as_bytes() == &at.log.0);
        let key = known.unwrap_or_else(|| {
            keys.push(VerifyingKey::from_bytes(&at.log.0).expect("a key"));
            keys.len() - 1
        });
        let (content, signature) = rest[..length].split_last_chunk::<64>().expect("long");
        // `Sig_structure` ends with the payload as it stands in the item, head included.
        let mut message = b"\x84\x6aSignature1\x43\xa1\x01\x32\x47winze/1".to_vec();
        message.extend_from_slice(&content[MARK.len()..content.len() - 2]);
        parts.push(Part {
            at,
            item: rest[..length].to_vec(),
            message,
            signature: Signature::from_bytes(signature),
            key,
        });
        rest = &rest[length..];
    }
    parts.pop();
    parts.remove(0);
    (parts, keys)
}

/// Strict signature checks and nothing else, on two threads.
pub fn bare_checks(parts: &[Part], keys: &[VerifyingKey]) {
    tell("records", parts.len() as f64);
    measured(|| {
        std::thread::scope(|scope| {
            for half in parts.chunks(parts.len().div_ceil(2)) {
                scope.spawn(move || {
                    for part in half {
                        let key = &keys[part.key];
                        key.verify_strict(&part.message, &part.signature)
                            .expect("good");
                    }
                });
            }
        });
    });
}

/// SHA-256 of every record and nothing else, on one thread.
pub fn bare_hashes(parts: &[Part]) {
    let sum = measured(|| {
        let digests = parts.iter().map(|part| Sha256::digest(&part.message));
        digests.fold(0_u8, |sum, digest| sum ^ digest[0])
    });
    tell("sum", f64::from(sum));
}

/// The same rows into a bare table, 10,000 for each commit, synced as ours are.
pub fn bare_rows(parts: &[Part], folder: &Path) {
    let mut database = rusqlite::Connection::open(folder.join("bare.sqlite")).expect("opened");
    database
        .execute_batch(
            "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA cache_size = -32768;
             CREATE TABLE record (log INTEGER, seq INTEGER, id BLOB, item BLOB,
                                  PRIMARY KEY (log, seq, id)) WITHOUT ROWID;",
        )
        .expect("a table");
    measured(|| {
        for part in parts.chunks(10_000) {
            let transaction = database.transaction().expect("begun");
            let mut insert = transaction
                .prepare("INSERT INTO record VALUES (?, ?, ?, ?)")
                .expect("valid");
            for part in part {
                let log = i64::try_from(part.key).expect("few");
                let row = (log, part.at.seq.cast_signed(), part.at.id.0, &part.item);
                insert.execute(row).expect("inserted");
            }
            drop(insert);
            transaction.commit().expect("committed");
        }
    });
}

fn git(folder: &Path, args: &[&str]) -> Command {
    let mut git = Command::new("git");
    git.arg("-C").arg(folder).args(args);
    git.stdout(Stdio::null()).stderr(Stdio::null());
    git
}

fn run(folder: &Path, args: &[&str]) {
    let status = git(folder, args).status().expect("git");
    assert!(status.success(), "git {args:?} failed");
}

/// The same records as objects of git, a thousand in a folder: packed into a bundle, which is then
/// fetched into an empty repository. Only the fetch is measured. Says false where there is no git.
pub fn git_fetch(parts: &[Part], folder: &Path) -> bool {
    if Command::new("git").arg("--version").output().is_err() {
        return false;
    }
    let (from, to) = (folder.join("git-from"), folder.join("git-to"));
    for dir in [&from, &to] {
        std::fs::create_dir(dir).expect("a folder");
        run(dir, &["init", "-q", "--bare"]);
    }
    let mut import = git(&from, &["fast-import", "--quiet"])
        .stdin(Stdio::piped())
        .spawn()
        .expect("git");
    let mut input = std::io::BufWriter::new(import.stdin.take().expect("a pipe"));
    let mut tree = String::new();
    for (n, part) in parts.iter().enumerate() {
        write!(input, "blob\nmark :{}\ndata {}\n", n + 1, part.item.len()).expect("written");
        input.write_all(&part.item).expect("written");
        writeln!(input).expect("written");
        let _ = writeln!(tree, "M 100644 :{} {}/{}", n + 1, n / 1000, n % 1000);
    }
    write!(
        input,
        "commit refs/heads/main\ncommitter a <a> 0 +0000\ndata 0\n{tree}\n"
    )
    .expect("written");
    drop(input);
    assert!(import.wait().expect("git").success());
    // Looking for differences between signed records is in vain and would only cost time.
    run(
        &from,
        &[
            "-c",
            "pack.window=0",
            "bundle",
            "create",
            "-q",
            "../git.bundle",
            "refs/heads/main",
        ],
    );
    measured(|| {
        run(
            &to,
            &[
                "fetch",
                "-q",
                "../git.bundle",
                "refs/heads/main:refs/heads/main",
            ],
        );
    });
    true
}
