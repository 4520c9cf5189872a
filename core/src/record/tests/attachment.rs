//! Bodies about pictures: sizes that do not fit are refused.

use super::super::*;
use super::samples::one_of_each;

fn added(change: impl FnOnce(&mut AttachmentAdded)) -> BodyResult<Body> {
    let sample = one_of_each()
        .into_iter()
        .find_map(|body| match body {
            Body::AttachmentAdded(added) => Some(*added),
            _ => None,
        })
        .unwrap();
    let mut changed = sample;
    change(&mut changed);
    let bytes = Body::AttachmentAdded(Box::new(changed)).encode().unwrap();
    Body::decode(Kind::AttachmentAdded.number(), &bytes)
}

#[test]
fn a_picture_whose_sizes_do_not_fit_is_refused() {
    assert!(added(|_| {}).is_ok());
    let whole = u32::try_from(MAX_PICTURE_BYTES).unwrap();
    let piece = u32::try_from(MAX_CHUNK_BYTES).unwrap();
    let refused: [fn(&mut AttachmentAdded); 4] = [
        |added| added.length += 1,
        |added| added.chunks[1].length = 0,
        |added| added.chunks.clear(),
        |added| {
            added.chunks.clear();
            added.length = 0;
        },
    ];
    for change in refused {
        assert!(added(change).is_err());
    }
    assert!(
        added(|added| {
            added.chunks[0].length = piece + 1;
            added.length += 1;
        })
        .is_err(),
        "a piece too large"
    );
    let of = |pieces: usize, length: u32| {
        added(move |added| {
            added.chunks = vec![added.chunks[0]; pieces];
            added
                .chunks
                .iter_mut()
                .for_each(|chunk| chunk.length = length);
            added.length = length * u32::try_from(pieces).unwrap();
        })
    };
    assert!(of(1024, whole / 1024).is_ok());
    assert!(of(1024, whole / 1024 + 1).is_err(), "a whole too large");
    assert!(of(1025, 1).is_err(), "too many pieces");
}

#[test]
fn an_empty_or_too_large_piece_is_refused() {
    let read = |length| {
        let body = Body::AttachmentChunk(AttachmentChunk {
            bytes: vec![7; length],
        });
        Body::decode(Kind::AttachmentChunk.number(), &body.encode().unwrap())
    };
    assert!(read(1).is_ok());
    assert!(read(MAX_CHUNK_BYTES).is_ok());
    assert!(read(0).is_err());
    assert!(read(MAX_CHUNK_BYTES + 1).is_err());
}

#[test]
fn a_picture_is_told_by_its_first_bytes() {
    assert_eq!(
        MediaType::of(b"\xff\xd8\xff\xe0 and so on"),
        Some(MediaType::Jpeg)
    );
    assert_eq!(MediaType::of(b"\x89PNG\r\n\x1a\n..."), Some(MediaType::Png));
    for other in [
        &b""[..],
        b"\xff\xd8",
        b"GIF89a",
        b"<svg>",
        b"\x89PNG\n\x1a\n",
    ] {
        assert_eq!(MediaType::of(other), None);
    }
}
