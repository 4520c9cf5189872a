//! What a step asks, and why: one or two short sentences each, read with a head lamp.
//!
//! What it is called, its ticks and its cautions stand in [`super::procedures`]. Common practice, no
//! source; local codes and site permits come first.

use winze_core::procedures::{Branch, ProcedureCode, ReasonCode, StepCode};

/// What a procedure is for.
#[must_use]
pub const fn purpose(code: ProcedureCode) -> &'static str {
    match code {
        ProcedureCode::SetUp => "A new station, or one that was opened up, comes into service.",
        ProcedureCode::Recalibrate => "The second stage of a station in service is set anew.",
        ProcedureCode::YearlyClean => "Strainer and control-loop filter are cleaned.",
        ProcedureCode::InternalInspection => {
            "Both stages are opened and looked at. A set-up follows."
        }
        ProcedureCode::ReturnToService => "A station that was only shut comes back.",
        ProcedureCode::WeeklyLookRound => "One station is looked at and read, outside a round.",
    }
}

/// What is to be done.
#[must_use]
pub const fn what(code: StepCode) -> &'static str {
    match code {
        StepCode::Prepare => {
            "Tell those who draw water, look the place over, settle permits and isolation."
        }
        StepCode::AsFound => "Read all three gauges before anything is touched.",
        StepCode::Isolate => "Close both valves, slowly. Lock and tag both.",
        StepCode::Pressureless => {
            "Open the drain or a vent, lead the water away, wait until all gauges stand at zero."
        }
        StepCode::Flush => "Let water run through the pipe until it comes clear.",
        StepCode::StrainerClean => {
            "Take strainer and control-loop filter out, clean them, put them back."
        }
        StepCode::InspectFirst => "Look at seat, seal, moving parts and body.",
        StepCode::InspectSecond => "Look at seat, seal, moving parts, body and pilot.",
        StepCode::CloseUp => "Close the covers, count tools and rags, take locks and tags off.",
        StepCode::InstallationFirm => "Look at arrow, supports, bolts, small pipes and gauges.",
        StepCode::ValvesClosed => "See that both valves are closed.",
        StepCode::SupplyPresent => "Read the pressure before the upstream valve.",
        StepCode::CocksOpen => "Open the cocks of the control trim and of all gauges.",
        StepCode::FactorySetPoint => "Read it off plate or card, and enter the one wanted here.",
        StepCode::WantedSetPoint => "Enter the set point that is wanted here.",
        StepCode::Compatibility => {
            "Look at the figures. Where one says stop, ask before water flows."
        }
        StepCode::Branch => "Choose one of the two ways on.",
        StepCode::ScrewBackedOff => {
            "Turn the adjusting screw out until it is free. Count the turns if you can."
        }
        StepCode::LockNutLoose => "Hold the screw while the nut comes loose. Do not turn it yet.",
        StepCode::OpenUpstream => "Open a little, wait until the gauges stand, then go on.",
        StepCode::OpenDownstreamPartly => "Open a little, wait until the gauges stand.",
        StepCode::Flow => {
            "Draw the usual amount; the smallest where no more can be had. Note which."
        }
        StepCode::Calibrate => "Turn, wait, read, enter. The screw goes in, the pressure comes up.",
        StepCode::LockNutAndCap => "Hold the screw, tighten the nut, put the cap on.",
        StepCode::VentFirst | StepCode::VentSecond => {
            "Open the vent at its highest point until water comes. Close it, wait, do it again."
        }
        StepCode::OpenDownstream => "Open it fully, and watch the outlet.",
        StepCode::Look => "Look and listen. Tick what you notice; nothing noticed is fine.",
        StepCode::Readings => "Read all three gauges.",
        StepCode::AsLeft => "Read all three gauges once they stand.",
        StepCode::LeftFigures => "Look at the verdicts. Where one says stop, ask before you leave.",
        StepCode::Told => "Say that the work is done, and leave nothing behind.",
    }
}

/// Why it is done.
#[must_use]
pub const fn why(code: StepCode) -> &'static str {
    match code {
        StepCode::Prepare => "Work begins once the site's own rules are met.",
        StepCode::AsFound => "Only now can be seen what was wrong. It closes the old baseline.",
        StepCode::Isolate => "An open station must not be fed from either side.",
        StepCode::Pressureless => "A closed station holds its pressure until it is let off.",
        StepCode::Flush => "Dirt from pipe work ends in the strainer, the pilot and the seats.",
        StepCode::StrainerClean => {
            "A full strainer starves the station, a full filter makes the pilot slow."
        }
        StepCode::InspectFirst | StepCode::InspectSecond => {
            "What is worn now says when to look again."
        }
        StepCode::CloseUp => "What was left open or inside shows only under pressure.",
        StepCode::InstallationFirm => "The wrong way round or loose, it fails under pressure.",
        StepCode::ValvesClosed => "The station is filled later, slowly and from one side.",
        StepCode::SupplyPresent => "Without supply nothing can be set, and the check needs it.",
        StepCode::CocksOpen => {
            "Behind a closed cock the pilot feels nothing and the gauge shows nothing."
        }
        StepCode::FactorySetPoint => "The two decide whether it is kept or set anew.",
        StepCode::WantedSetPoint => "All that follows is measured against it.",
        StepCode::Compatibility => "What does not fit is found before water flows.",
        StepCode::Branch => "A set point that is right already need not be touched.",
        StepCode::ScrewBackedOff => "From fully out, the pressure can only come up from below.",
        StepCode::LockNutLoose => "The screw has to turn alone, and every turn has to count.",
        StepCode::OpenUpstream => "A station filled fast takes a blow, and air is driven into it.",
        StepCode::OpenDownstreamPartly => "A little water has to flow before anything is set.",
        StepCode::Flow => "Without flow the outlet shows lock-up only, and nothing can be set.",
        StepCode::Calibrate => {
            "Reached from below, the set point leaves no slack behind the screw."
        }
        StepCode::LockNutAndCap => "A loose screw wanders.",
        StepCode::VentFirst | StepCode::VentSecond => {
            "Air in the control space makes a stage hunt."
        }
        StepCode::OpenDownstream => "A valve half open takes off what the station should.",
        StepCode::Look => "Eyes and ears find what no gauge shows.",
        StepCode::Readings => "They are judged at once against what is to be expected here.",
        StepCode::AsLeft => "They prove the work, and begin the new baseline.",
        StepCode::LeftFigures => {
            "A station is left only as it should be, or somebody answers for it."
        }
        StepCode::Told => "Others have to know what they may count on again.",
    }
}

/// What a way on means.
#[must_use]
pub const fn branch_means(branch: Branch) -> &'static str {
    match branch {
        Branch::Keep => "It came set as it is wanted. The screw is not touched.",
        Branch::Recalibrate => "The screw is backed off, and the pressure brought up from below.",
    }
}

/// A stated reason, as its key says it.
#[must_use]
pub const fn reason_key(code: ReasonCode) -> &'static str {
    match code {
        ReasonCode::NotFitted => "The station has no such part",
        ReasonCode::DoneBefore => "It was done before",
        ReasonCode::NotPossibleNow => "Not possible now",
        ReasonCode::PartBroken => "Part broken or unreadable",
        ReasonCode::OrderOfPlace => "Another order suits the place",
        ReasonCode::ResponsibleDecided => "Decided by whoever is responsible",
        ReasonCode::Other => "Something else, in words",
    }
}

/// Why a step is taken back, on its keys.
pub const UNDO_REASONS: [&str; 5] = [
    "Value misread",
    "Recorded at the wrong step",
    "Not done after all",
    "Has to be done again",
    "Two tablets disagree, this one is wrong",
];

/// Why a procedure is given up, on its keys.
pub const ABANDON_REASONS: [&str; 5] = [
    "Opened by mistake",
    "No time left",
    "Part or tool missing",
    "Stopped by whoever is responsible",
    "Done by another procedure",
];

#[cfg(test)]
mod tests {
    use super::*;

    /// What a step screen has room for at arm's length, in characters: two lines upright.
    const ROOM: usize = 100;

    #[test]
    fn every_step_says_what_and_why_in_a_few_words_and_none_says_the_same_twice() {
        for code in StepCode::ALL {
            for text in [what(*code), why(*code)] {
                assert!(text.len() <= ROOM && text.ends_with('.'), "{text}");
            }
            assert_ne!(what(*code), why(*code));
        }
    }

    #[test]
    fn no_text_tells_anyone_to_enter_or_to_open_a_stage() {
        // Opening valves is the work itself; going in and opening bodies is decided elsewhere.
        for code in StepCode::ALL {
            let said = what(*code).to_lowercase();
            assert!(
                !said.contains("go in") && !said.contains("enter the c"),
                "{said}"
            );
        }
    }
}
