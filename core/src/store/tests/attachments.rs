//! Pictures: stored once, carried in pieces, put together whole or not at all.

use std::fs;
use std::sync::Arc;

use sha2::{Digest as _, Sha256};
use winze_sync_format::RecordRef;
use winze_sync_format::bundle::read_bundle;
use winze_sync_format::disk::RealDisk;

use crate::actions::{Attached, NewAttachment, PackFor, attach, back_up};
use crate::clock::FixedClock;
use crate::record::{
    AttachmentAdded, AttachmentChunk, Body, ChunkName, Kind, MAX_CHUNK_BYTES, MAX_PICTURE_BYTES,
    MediaType, Role,
};
use crate::samples::{Kept, MONDAY_MS, carry_on, code};
use crate::store::{NewRecord, restore};
use crate::{Error, Result, query};

/// A file that begins like a JPEG picture; nothing here looks further.
fn picture(length: usize, seed: u64) -> Vec<u8> {
    let mut state = seed;
    let mut bytes = vec![0xff, 0xd8, 0xff];
    bytes.resize_with(length, || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1);
        state.to_be_bytes()[0]
    });
    bytes
}

fn add(kept: &mut Kept, about: RecordRef, bytes: &[u8]) -> Result<Attached> {
    kept.clock.advance_ms(1000);
    let new = NewAttachment {
        about,
        bytes,
        taken_ms: None,
        note: String::new(),
        by: "A".to_owned(),
    };
    attach(&mut kept.book, new)
}

/// An office and a tablet that count each other, and a reading on the tablet.
fn site() -> (Kept, Kept, RecordRef) {
    let (mut office, mut tablet) = (Kept::new(Role::Office, "O"), Kept::new(Role::Tablet, "A"));
    office.enrol(&tablet, "A", Role::Tablet);
    tablet.enrol(&office, "O", Role::Office);
    tablet.define("T-01");
    let reading = tablet.read("T-01", (100, 40, 20));
    (office, tablet, reading)
}

const PIECES: usize = 20;

fn long() -> Vec<u8> {
    picture(MAX_CHUNK_BYTES * (PIECES - 1) + 17, 1)
}

#[test]
fn a_picture_arrives_at_the_office_byte_for_byte() {
    let (mut office, mut tablet, reading) = site();
    let bytes = long();
    let attached = add(&mut tablet, reading, &bytes).unwrap();
    assert_eq!((attached.chunks, attached.new_chunks), (PIECES, PIECES));
    office.merge(&[tablet.pack(PackFor::Office)]);
    let views = query::attachments_of(&office.book, &code("T-01"), reading).unwrap();
    assert_eq!(views.len(), 1);
    let view = &views[0];
    assert_eq!(
        (view.at, view.missing_chunks, view.media),
        (attached.at, 0, MediaType::Jpeg)
    );
    assert_eq!(
        query::attachment_bytes(&office.book, view.at).unwrap(),
        bytes
    );
    // The database is rebuilt from the segments: the same.
    let (before, at) = (office.dump(), view.at);
    let office = office.reopen_after(|dir| fs::remove_file(dir.join("projection.sqlite")).unwrap());
    assert_eq!(office.dump(), before);
    assert_eq!(query::attachment_bytes(&office.book, at).unwrap(), bytes);
}

#[test]
fn the_same_bytes_are_stored_once() {
    let (_, mut tablet, reading) = site();
    let other = tablet.read("T-01", (101, 40, 20));
    let bytes = picture(MAX_CHUNK_BYTES * 3, 2);
    let first = add(&mut tablet, reading, &bytes).unwrap();
    let again = add(&mut tablet, reading, &bytes).unwrap();
    assert!(again.was_there);
    assert_eq!(again.at, first.at);
    let elsewhere = add(&mut tablet, other, &bytes).unwrap();
    assert!(!elsewhere.was_there);
    assert_eq!((elsewhere.chunks, elsewhere.new_chunks), (3, 0));
    assert_eq!(
        query::attachment_bytes(&tablet.book, elsewhere.at).unwrap(),
        bytes
    );
    // Pieces that repeat within one picture, too.
    let mut repeated = vec![0; MAX_CHUNK_BYTES * 40];
    repeated[..3].copy_from_slice(&[0xff, 0xd8, 0xff]);
    let attached = add(&mut tablet, reading, &repeated).unwrap();
    assert_eq!((attached.chunks, attached.new_chunks), (40, 2));
    assert_eq!(
        query::attachment_bytes(&tablet.book, attached.at).unwrap(),
        repeated
    );
}

#[test]
fn what_is_no_picture_or_too_large_is_refused_and_nothing_is_written() {
    let (_, mut tablet, reading) = site();
    let before = tablet.dump();
    let refused = add(&mut tablet, reading, b"GIF89a");
    assert!(matches!(refused, Err(Error::NotAPicture)));
    let refused = add(&mut tablet, reading, &picture(MAX_PICTURE_BYTES + 1, 3));
    assert!(matches!(refused, Err(Error::PictureTooLarge { .. })));
    let nowhere = RecordRef { seq: 99, ..reading };
    let refused = add(&mut tablet, nowhere, &picture(9, 3));
    assert!(matches!(refused, Err(Error::UnknownRecord { .. })));
    let opened = query::find_at_place(&tablet.book, &reading.log.to_string(), 0).unwrap()[0];
    let refused = add(&mut tablet, opened, &picture(9, 3));
    assert!(matches!(refused, Err(Error::CannotAttachTo { .. })));
    assert_eq!(tablet.dump(), before);
    let largest = picture(MAX_PICTURE_BYTES, 3);
    let attached = add(&mut tablet, reading, &largest).unwrap();
    assert_eq!(attached.chunks, 147);
    assert_eq!(
        query::attachment_bytes(&tablet.book, attached.at).unwrap(),
        largest
    );
}

/// Resumed: a stick pulled out half way, acknowledged, the rest in the next bundle.
#[test]
fn pieces_that_arrived_are_not_sent_again_and_the_others_are() {
    let (mut office, mut tablet, reading) = site();
    let bytes = long();
    let at = add(&mut tablet, reading, &bytes).unwrap().at;
    let path = tablet.pack(PackFor::Office);
    let whole = fs::read(&path).unwrap();
    let first_count = read_bundle(&*whole).records.len();
    let cut = office.folder.path().join("cut.winze");
    fs::write(&cut, &whole[..whole.len() / 2]).unwrap();
    let merged = office.merge(&[cut]);
    assert!(merged.bundles[0].new_records > 5);
    assert!(
        query::attachments_at(&office.book, &code("T-01"))
            .unwrap()
            .is_empty()
    );
    let arrived = usize::try_from(merged.bundles[0].new_records).unwrap();
    tablet.merge(&[office.pack(PackFor::Tablets)]);
    let rest = tablet.pack(PackFor::Office);
    let rest_count = read_bundle(&*fs::read(&rest).unwrap()).records.len();
    // The rest, and what was merged from the office meanwhile.
    assert!(rest_count < first_count && rest_count >= first_count - arrived);
    office.merge(&[rest]);
    assert_eq!(query::attachment_bytes(&office.book, at).unwrap(), bytes);
}

/// Every piece lost in turn: the picture says what it lacks, and is whole once the piece is there.
#[test]
fn a_lost_piece_is_named_and_fetched_again() {
    let (_, mut tablet, reading) = site();
    let bytes = picture(MAX_CHUNK_BYTES * 3 + 5, 4);
    let at = add(&mut tablet, reading, &bytes).unwrap().at;
    let path = tablet.pack(PackFor::Everything);
    let whole = fs::read(&path).unwrap();
    let pieces: Vec<_> = read_bundle(&*whole)
        .records
        .into_iter()
        .filter(|record| record.kind() == Kind::AttachmentChunk.number())
        .collect();
    assert_eq!(pieces.len(), 4);
    for piece in pieces {
        let mut office = Kept::new(Role::Office, "O");
        office.enrol(&tablet, "A", Role::Tablet);
        let start = whole
            .windows(piece.item().len())
            .position(|window| window == piece.item())
            .unwrap();
        let mut damaged = whole.clone();
        damaged[start + piece.item().len() / 2] ^= 1;
        let bad = office.folder.path().join("bad.winze");
        fs::write(&bad, damaged).unwrap();
        office.merge(&[bad]);
        assert_eq!(
            query::attachment(&office.book, at).unwrap().missing_chunks,
            1
        );
        let error = query::attachment_bytes(&office.book, at).unwrap_err();
        assert!(matches!(
            error,
            Error::AttachmentIncomplete { missing: 1, .. }
        ));
        office.merge(std::slice::from_ref(&path));
        assert_eq!(query::attachment_bytes(&office.book, at).unwrap(), bytes);
    }
}

#[test]
fn the_order_of_arrival_does_not_show() {
    let (_, mut tablet, reading) = site();
    let mut bundles = vec![tablet.pack(PackFor::Everything)];
    let bytes = picture(MAX_CHUNK_BYTES + 5, 5);
    add(&mut tablet, reading, &bytes).unwrap();
    bundles.push(tablet.pack(PackFor::Everything));
    // Another tablet with the same picture: the piece has two records, under one name.
    let mut other = Kept::new(Role::Tablet, "B");
    other.define("T-01");
    let theirs = other.read("T-01", (100, 40, 20));
    add(&mut other, theirs, &bytes).unwrap();
    bundles.push(other.pack(PackFor::Everything));
    let dumps: Vec<String> = [
        [0, 1, 2],
        [2, 1, 0],
        [1, 0, 2],
        [1, 2, 0],
        [2, 0, 1],
        [0, 2, 1],
    ]
    .iter()
    .map(|order| {
        let mut office = Kept::new(Role::Office, "O");
        for place in order {
            office.merge(std::slice::from_ref(&bundles[*place]));
        }
        // Each office has its own name; the rest is the same.
        let own = office.book.log_id().to_string();
        office
            .dump()
            .lines()
            .filter(|line| !line.contains(&own))
            .collect::<Vec<_>>()
            .join("\n")
    })
    .collect();
    assert!(dumps[0].contains("attachment-chunk"));
    assert!(dumps.iter().all(|dump| dump == &dumps[0]));
}

/// Signed by a key that counts, and yet not true: nothing is handed out under a wrong name.
#[test]
fn a_record_that_lies_about_the_whole_gives_no_picture() {
    let (_, mut tablet, reading) = site();
    let piece = picture(100, 6);
    let name: [u8; 32] = Sha256::digest(&piece).into();
    let lie = |sha256: [u8; 32], length: u32| {
        Body::AttachmentAdded(Box::new(AttachmentAdded {
            media: MediaType::Jpeg,
            length,
            sha256,
            chunks: vec![ChunkName {
                sha256: name,
                length,
            }],
            about: reading,
            station: code("T-01"),
            taken_ms: None,
            note: String::new(),
            utc_offset_minutes: 0,
        }))
    };
    let bodies = [
        Body::AttachmentChunk(AttachmentChunk { bytes: piece }),
        lie([1; 32], 100),
        lie(name, 99),
        lie(name, 100),
    ];
    let records = bodies
        .into_iter()
        .map(|body| NewRecord::new(body, "A"))
        .collect();
    let written = tablet.book.confirm(records).unwrap();
    for at in &written[1..3] {
        let error = query::attachment_bytes(&tablet.book, *at).unwrap_err();
        assert!(matches!(error, Error::AttachmentUnfit { .. }), "{error}");
    }
    assert!(query::attachment_bytes(&tablet.book, written[3]).is_ok());
    let error = query::attachment_bytes(&tablet.book, written[0]).unwrap_err();
    assert!(matches!(error, Error::NotAnAttachment { .. }));
}

#[test]
fn a_backup_brings_pictures_back_and_tablets_are_not_sent_them() {
    let (mut office, mut tablet, reading) = site();
    let bytes = long();
    let at = add(&mut tablet, reading, &bytes).unwrap().at;
    office.merge(&[tablet.pack(PackFor::Office)]);
    let to = office.folder.path().join("second");
    let from = back_up(&mut office.book, &to, "C", &mut carry_on)
        .unwrap()
        .folder;
    let into = office.folder.path().join("again");
    let clock = Arc::new(FixedClock::at(MONDAY_MS));
    let (book, _) = restore(Arc::new(RealDisk), &from, &into, "C", clock, &mut carry_on).unwrap();
    assert_eq!(query::attachment_bytes(&book, at).unwrap(), bytes);
    let back = fs::read(office.pack(PackFor::Tablets)).unwrap();
    assert!(back.len() < MAX_CHUNK_BYTES, "{} bytes", back.len());
}
