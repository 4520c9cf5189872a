//! Keys, dial touches, nudges and doubts on the entry of one station.

use super::*;
use crate::presenters::samples;
use winze_core::slips::DoubtKind;

fn entry() -> StationEntry {
    StationEntry::new(samples::station(), Vec::new())
}

fn type_in(entry: &mut StationEntry, keys: &str) {
    for key in keys.chars() {
        entry.key(key);
    }
}

fn text(entry: &StationEntry, quantity: Quantity) -> &str {
    &entry.cell(quantity).text
}

#[test]
fn keys_make_a_value_and_next_goes_on_in_flow_order() {
    let mut entry = entry();
    type_in(&mut entry, "10.2");
    entry.next();
    type_in(&mut entry, "4.1");
    entry.next();
    type_in(&mut entry, "2.0");
    assert_eq!(entry.entry(), samples::entry(["10.2", "4.1", "2.0"]));
    entry.next();
    assert_eq!(entry.chosen(), Quantity::Inlet);
}

#[test]
fn second_point_letters_and_too_many_digits_are_not_taken() {
    let mut entry = entry();
    type_in(&mut entry, "1.2.3x-e5");
    assert_eq!(text(&entry, Quantity::Inlet), "1.235");
    type_in(&mut entry, "99999999");
    assert_eq!(text(&entry, Quantity::Inlet), "1.2359");
    let mut entry = StationEntry::new(samples::station(), Vec::new());
    type_in(&mut entry, ".5");
    assert_eq!(text(&entry, Quantity::Inlet), "0.5");
    entry.choose(Quantity::Outlet);
    type_in(&mut entry, "007");
    assert_eq!(text(&entry, Quantity::Outlet), "7");
}

#[test]
fn first_digit_after_choosing_a_gauge_starts_anew_but_erase_does_not() {
    let mut entry = entry();
    type_in(&mut entry, "10.2");
    entry.choose(Quantity::Inlet);
    entry.erase();
    assert_eq!(text(&entry, Quantity::Inlet), "10.");
    entry.choose(Quantity::Inlet);
    type_in(&mut entry, "9");
    assert_eq!(text(&entry, Quantity::Inlet), "9");
}

#[test]
fn touch_on_the_dial_is_the_nearest_fifth_of_a_division() {
    let mut entry = entry();
    // 0-16 bar in halves: a fifth is 0.1 bar.
    for (fraction, digits) in [
        (0.6374, "10.2"),
        (0.640_7, "10.3"),
        (0.25, "4.0"),
        (1.0, "16.0"),
    ] {
        entry.touch_dial(Quantity::Inlet, fraction);
        assert_eq!(text(&entry, Quantity::Inlet), digits, "{fraction}");
    }
    // 0-4 bar in tenths: a fifth is 0.02 bar.
    entry.touch_dial(Quantity::Outlet, 0.5026);
    assert_eq!(text(&entry, Quantity::Outlet), "2.02");
    assert_eq!(entry.chosen(), Quantity::Outlet);
}

#[test]
fn nudge_moves_by_a_fifth_and_stays_on_the_dial() {
    let mut entry = entry();
    entry.nudge(1);
    assert_eq!(text(&entry, Quantity::Inlet), "", "nothing to move");
    assert_eq!(entry.nudge_step(), "0.1");
    type_in(&mut entry, "15.95");
    entry.nudge(1);
    assert_eq!(text(&entry, Quantity::Inlet), "16.0");
    entry.nudge(1);
    assert_eq!(text(&entry, Quantity::Inlet), "16.0");
    entry.nudge(-3);
    assert_eq!(text(&entry, Quantity::Inlet), "15.7");
}

#[test]
fn digit_after_a_dial_touch_starts_anew() {
    let mut entry = entry();
    entry.touch_dial(Quantity::Outlet, 0.5);
    type_in(&mut entry, "2.1");
    assert_eq!(text(&entry, Quantity::Outlet), "2.1");
}

#[test]
fn flow_is_noted_and_taken_back() {
    let mut entry = entry();
    entry.toggle_flow(FlowState::Still);
    entry.toggle_flow(FlowState::Flowing);
    assert_eq!(entry.flow(), FlowState::Flowing);
    entry.toggle_flow(FlowState::Flowing);
    assert_eq!(entry.flow(), FlowState::NotNoted);
    assert!(entry.is_untouched());
}

#[test]
fn over_span_asks_once_and_a_changed_value_may_be_asked_again() {
    let mut entry = entry();
    type_in(&mut entry, "150");
    let doubt = entry.doubt().expect("150 bar on a dial to 16 is doubtful");
    entry.answer(&doubt, DoubtReply::AsTyped, None);
    assert_eq!(entry.doubt().map(|doubt| doubt.kind), None);
    assert_eq!(entry.asked().len(), 1);
    entry.choose(Quantity::Inlet);
    type_in(&mut entry, "160");
    assert!(entry.doubt().is_some());
}

#[test]
fn likely_value_replaces_digits_and_unit() {
    let mut entry = entry();
    type_in(&mut entry, "150");
    let psi = Typed::new(samples::digits("150"), Unit::Psi);
    let likely = entry.entry().with(Quantity::Inlet, Some(psi));
    let doubt = Doubt {
        kind: DoubtKind::UnitSlip,
        quantity: Some(Quantity::Inlet),
        likely: Some(likely),
        second: None,
        probability: 0.9,
    };
    entry.answer(&doubt, DoubtReply::Likely, None);
    assert_eq!(entry.value(Quantity::Inlet), Some(psi));
    assert_eq!(entry.asked()[0].likely, Some(likely));
    entry.choose(Quantity::Inlet);
    type_in(&mut entry, "10.3");
    assert_eq!(
        entry.cell(Quantity::Inlet).unit,
        Unit::Bar,
        "typed anew on the dial's unit"
    );
}
