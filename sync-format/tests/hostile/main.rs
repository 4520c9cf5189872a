//! Hostile input, one named test for each case. What is here concerns bytes, signatures and files;
//! a reader who looks for a case finds it by the name of its test.
//!
//! | file | cases |
//! |---|---|
//! | `encoding` | depth bomb, lengths of 2^63, keys twice and out of order, long heads, indefinite lengths, floats, other tags, numbers out of range, bad UTF-8, bytes behind the value, a payload full of tiny values |
//! | `signatures` | small-order keys, keys in a second spelling or off the curve, malleable S, small-order R, signatures that hold only with the cofactor, other algorithms, unprotected headers, borrowed signatures, another log's name, replay from another format, replay of the same |
//! | `logs` | last place and one beyond, previous records in a loop, a log written twice, references to nowhere, newer versions, unknown kinds |
//! | `bundles` | header or trailer of another bundle, by another log, twice, in another place; ranges, counts, lengths, hashes and closing numbers that lie; mixed and joined bundles; records within records |
//! | `names` | names with bidirectional and control characters; labels with `..`, separators, drives, streams, devices; names that claim what the content is not |
//! | `files` | links, folders, pipes and devices in place of files; a file swapped, cut or growing while it is read; endless files; fake marks; forged signatures; millions of tiny items; scattered places |
//!
//! Cases above this format live in `core`:
//!
//! | case | where |
//! |---|---|
//! | a log that enrols itself, or is enrolled by an unknown one | `core/src/merge/trust.rs`, `a_log_enrolled_by_an_enrolled_office_counts` |
//! | records that a revoked log dated back | `core/src/merge/trust.rs`: what counts ends at a place in the log (`Reach::UpTo`), not at a time; `words_of_a_revoked_office_beyond_its_reach_do_not_count` |
//! | offices that revoke each other, or the own log | `core/src/merge/trust.rs` |
//! | replay into another site | `core/src/store/tests/story.rs`, `records_of_an_unknown_tablet_are_held_and_count_once_it_is_enrolled` |
//! | a copied logbook, key and all | `core/src/store/tests/crash.rs`, `a_logbook_copied_and_used_twice_is_one_forked_log_with_both_branches` |
//!
//! Cases that have no test anywhere yet, because what they attack does not exist yet: rollback of
//! acknowledgements, freeze (old definitions kept from being replaced), fast-forward of a trust list,
//! mix-and-match of trust lists, limits on what an unknown log may store, attachments.

#[path = "../common/mod.rs"]
mod common;

mod bundles;
mod encoding;
mod files;
mod logs;
mod names;
mod signatures;
