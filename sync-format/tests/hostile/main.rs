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
//! The forty cases that a format of this sort must meet, each with its test. Those without a folder
//! are here; `core:` is `core/tests/hostile`, `it:` is `tests/it/commands_salvage.rs`.
//!
//! | case | test |
//! |---|---|
//! | depth bomb | `depth_bomb` |
//! | lengths of 2^63 | `lengths_of_2_to_the_63_and_more` |
//! | keys twice | `keys_twice` |
//! | wrong order | `keys_out_of_order` |
//! | keys that are text | `keys_that_are_no_numbers` |
//! | not the shortest form | `heads_longer_than_needed` |
//! | indefinite lengths | `indefinite_lengths` |
//! | floats | `floats_and_simple_values` |
//! | other tags | `tags_that_are_not_used` |
//! | bad UTF-8 | `text_that_is_not_utf8` |
//! | numbers out of range | `numbers_out_of_range` |
//! | bytes behind the value | `bytes_behind_the_value` |
//! | tiny values without number | `a_payload_full_of_tiny_values` |
//! | names that turn the writing | `bidirectional_and_control_characters_in_names`, core: `bidirectional_names_of_people` |
//! | `..`, absolute, device and stream names | `labels_that_are_paths_devices_or_streams` |
//! | names that lie | `names_that_claim_what_the_content_is_not` |
//! | links in the tray | `links_are_not_followed`, it: `links_in_a_tray_are_refused_and_the_rest_is_taken` |
//! | pipes and devices | `folders_pipes_and_devices_are_not_opened` |
//! | a file that grows while it is read | `a_file_that_grows_while_it_is_read` |
//! | a file swapped after the check | `a_file_swapped_after_it_was_opened` |
//! | an endless file | `endless_files` |
//! | fake marks | `fake_marks_and_forged_signatures`, `fake_marks_that_each_claim_what_follows` |
//! | five million tiny items | `tiny_items_without_number`, `tiny_items_to_the_limit_of_the_format` |
//! | small-order keys and R | `small_order_keys`, `small_order_r` |
//! | malleable S | `malleable_s` |
//! | signatures that a batch would let pass | `signatures_that_hold_only_with_the_cofactor` |
//! | replay from another format | `replay_from_another_format` |
//! | replay into another site | core: `a_replay_of_another_site` |
//! | an index that lies | `closing_numbers_that_lie`, `ranges_that_declare_what_was_never_there` |
//! | counts, lengths and hashes that lie | `counts_that_lie`, `lengths_and_hashes_that_lie` |
//! | trailer of another bundle | `trailer_of_another_bundle`, `trailer_signed_by_another_log` |
//! | mix and match | `records_of_two_bundles_mixed`, `two_bundles_joined` |
//! | self-grant | core: `a_log_that_grants_itself`, `an_unknown_office_that_grants_another`, `a_tablet_that_grants` |
//! | a revoked key that dates back | core: `a_revoked_key_that_dates_back` |
//! | rollback | core: `a_rollback_to_what_was_before_a_revocation` |
//! | fast-forward | core: `a_fast_forward` |
//! | sequence numbers at their end | `the_last_place_and_one_beyond`, core: `a_sequence_number_at_the_end_of_all_numbers` |
//! | previous records in a loop | `previous_records_in_a_loop`, core: `previous_records_that_are_not_there` |
//! | version jump | `newer_versions_with_anything_behind_their_name`, core: `kinds_and_bodies_that_nobody_understands` |
//! | a stranger's words about our records | core: `words_of_a_stranger_about_our_records`, `acknowledgements_of_what_was_never_written` |
//! | a stranger that fills the disk | core: `a_stranger_that_fills_the_disk`, `many_strangers_that_fill_the_disk`, `a_thief_that_goes_on_after_a_revocation` |
//! | freeze, keeping newer definitions and revocations from somebody | core: `a_tablet_that_is_kept_from_news` |

#[path = "../common/mod.rs"]
mod common;

mod bundles;
mod encoding;
mod files;
mod logs;
mod names;
mod signatures;
