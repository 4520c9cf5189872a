//! Blocks of a file of sixteen, as media lose, zero, swap and misplace them.

use super::{Good, sum_of};

const BLOCKS: usize = 16;
const PATTERNS: usize = 1 << BLOCKS;

/// A bundle that fills fifteen blocks of this size and begins a sixteenth.
fn sixteen_blocks_of(size: usize) -> Good {
    let longest = 225;
    let mut good = Good::of((BLOCKS - 1) * size / longest - 4);
    while good.bytes.len() <= (BLOCKS - 1) * size {
        good = Good::of(good.records.len() + 1);
    }
    assert_eq!(good.bytes.len().div_ceil(size), BLOCKS);
    good
}

/// Which blocks a part of the file would feel the loss of: those where it has a byte that is not
/// zero already.
fn felt(bytes: &[u8], part: &std::ops::Range<usize>, size: usize) -> usize {
    let mut blocks = 0;
    for at in part.clone() {
        if bytes[at] != 0 {
            blocks |= 1 << (at / size);
        }
    }
    blocks
}

/// Every pattern of zeroed blocks: exactly the untouched records are found.
fn zeroed_blocks(size: usize) {
    let good = sixteen_blocks_of(size);
    let feels: Vec<_> = good
        .places
        .iter()
        .map(|place| felt(&good.bytes, place, size))
        .collect();
    let header = felt(&good.bytes, &good.header, size);
    let behind = good.places.last().unwrap().end;
    let end = felt(&good.bytes, &(behind..good.bytes.len() - 9), size);
    let [kept, gone] = sum_of(PATTERNS, |pattern| {
        let mut bad = good.bytes.clone();
        for (block, bytes) in bad.chunks_mut(size).enumerate() {
            if pattern >> block & 1 == 1 {
                bytes.fill(0);
            }
        }
        let untouched = |at: usize| feels[at] & pattern == 0;
        let (found, report) = good.read(&bad, untouched);
        let expected = (0..good.records.len()).filter(|&at| untouched(at));
        assert!(found.iter().copied().eq(expected), "{pattern:016b}");
        assert_eq!(report.is_whole(), pattern == 0, "{pattern:016b}");
        let lost = (good.records.len() - found.len()) as u64;
        if header & pattern == 0 || end & pattern == 0 {
            assert_eq!(report.missing_count(), lost, "{pattern:016b}");
        }
        [found.len() as u64, lost]
    });
    println!(
        "blocks: {PATTERNS} patterns of zeroed blocks of {size} bytes over {} records: {kept} \
         untouched, all found; {gone} touched, none found",
        good.records.len()
    );
}

#[test]
fn every_pattern_of_zeroed_sectors() {
    zeroed_blocks(512);
}

#[test]
#[ignore = "half a minute; run by hand"]
fn every_pattern_of_zeroed_blocks() {
    zeroed_blocks(4096);
}

/// Blocks in another order, or one in the place of another: every record that touches none of
/// them is found, what else is found is true, and the bundle is never whole. Every signature is
/// checked here: a record may be put together from two.
fn moved_blocks(size: usize, orders: &[Vec<usize>]) {
    let good = sixteen_blocks_of(size);
    let [found_all, kept] = sum_of(orders.len(), |number| {
        let order = &orders[number];
        let blocks: Vec<_> = good.bytes.chunks(size).collect();
        let bad: Vec<u8> = order.iter().flat_map(|&at| blocks[at]).copied().collect();
        let moved = |block: usize| order[block] != block;
        let (found, report) = good.read(&bad, |_| false);
        assert_eq!(report.is_whole(), bad == good.bytes, "{order:?}");
        let mut kept = 0;
        for (at, place) in good.places.iter().enumerate() {
            let touched = (place.start / size..=(place.end - 1) / size).any(moved);
            kept += u64::from(!touched);
            assert!(touched || found.contains(&at), "{order:?}: record {at}");
        }
        [found.len() as u64, kept]
    });
    println!(
        "blocks: {} orders of {BLOCKS} blocks of {size} bytes: {kept} untouched records, all \
         found; {found_all} found in all, all true",
        orders.len()
    );
}

/// Every swap of two blocks and every block over every other; the last, shorter one stays.
fn swaps_and_copies() -> Vec<Vec<usize>> {
    let mut orders = Vec::new();
    for one in 0..BLOCKS - 1 {
        for two in 0..BLOCKS - 1 {
            let mut order: Vec<_> = (0..BLOCKS).collect();
            order[one] = two;
            orders.push(order.clone());
            order[two] = one;
            orders.push(order);
        }
    }
    orders
}

#[test]
fn every_swap_and_misplaced_copy_of_a_sector() {
    moved_blocks(512, &swaps_and_copies());
}

#[test]
#[ignore = "half a minute; run by hand"]
fn every_swap_misplaced_copy_and_many_orders_of_blocks() {
    moved_blocks(4096, &swaps_and_copies());
    // A thousand orders, the same in every run.
    let mut state = 1u64;
    let mut orders = Vec::new();
    for _ in 0..1000 {
        let mut order: Vec<_> = (0..BLOCKS).collect();
        for at in (1..BLOCKS - 1).rev() {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1);
            let other = usize::try_from(state >> 33).unwrap_or(0) % (at + 1);
            order.swap(at, other);
        }
        orders.push(order);
    }
    moved_blocks(4096, &orders);
}
