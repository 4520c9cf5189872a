//! Procedures in words: what each step is called, what is ticked and measured, every caution and
//! reason.
//!
//! Short enough for a head lamp. Cautions inform; local codes, site permits and licensed people
//! decide. What a step is for stands on its screen.

use winze_core::procedures::{
    Air, Branch, Caution, Dirt, DrawOff, Inside, MeasureCode, OpenReason, ProcedureCode, Reason,
    ReasonCode, StepCode, TickCode, Value,
};

use crate::presenters::words;

/// A procedure.
#[must_use]
pub const fn procedure(code: ProcedureCode) -> &'static str {
    match code {
        ProcedureCode::SetUp => "set-up",
        ProcedureCode::Recalibrate => "recalibration",
        ProcedureCode::YearlyClean => "yearly clean",
        ProcedureCode::InternalInspection => "internal inspection",
        ProcedureCode::ReturnToService => "return to service",
        ProcedureCode::WeeklyLookRound => "weekly look-round",
    }
}

/// What a step is called.
#[must_use]
pub const fn step(code: StepCode) -> &'static str {
    match code {
        StepCode::Prepare => "Prepare: people, place, permits",
        StepCode::AsFound => "Read the gauges as found",
        StepCode::Isolate => "Close and lock off both isolating valves",
        StepCode::Pressureless => "Let the pressure off between them",
        StepCode::Flush => "Flush the pipe before it feeds the station",
        StepCode::StrainerClean => "Clean strainer and control-loop filter",
        StepCode::InspectFirst => "Open the first stage and look inside",
        StepCode::InspectSecond => "Open the second stage with its pilot and look inside",
        StepCode::CloseUp => "Close everything up again",
        StepCode::InstallationFirm => "See that the installation is firm",
        StepCode::ValvesClosed => "Both isolating valves closed",
        StepCode::SupplyPresent => "Usual pressure before the upstream valve",
        StepCode::CocksOpen => "Open the control-trim and gauge cocks",
        StepCode::FactorySetPoint => "Set point it came with, and the one wanted",
        StepCode::WantedSetPoint => "The set point wanted",
        StepCode::Compatibility => "See that station, set point and duty suit each other",
        StepCode::Branch => "Keep the set point, or set it anew",
        StepCode::ScrewBackedOff => "Back the adjusting screw fully off",
        StepCode::LockNutLoose => "Take the cap off and loosen the lock nut",
        StepCode::OpenUpstream => "Open the upstream valve slowly",
        StepCode::OpenDownstreamPartly => "Open the downstream valve part of the way",
        StepCode::Flow => "Draw water, and note how much",
        StepCode::Calibrate => "Turn the screw slowly and follow the outlet",
        StepCode::LockNutAndCap => "Tighten the lock nut, put the cap on",
        StepCode::VentFirst => "Vent the first stage until no air comes",
        StepCode::VentSecond => "Vent the second stage until no air comes",
        StepCode::OpenDownstream => "Open the downstream valve fully, slowly",
        StepCode::Look => "Look round the station",
        StepCode::Readings => "Read the gauges",
        StepCode::AsLeft => "Read the gauges as left",
        StepCode::LeftFigures => "See that what is left is as it should be",
        StepCode::Told => "Tell people, leave the place in order",
    }
}

/// Something seen to, or noticed.
#[must_use]
pub const fn tick(code: TickCode) -> &'static str {
    match code {
        TickCode::ConsumersTold => "those who draw water know",
        TickCode::PlaceLookedOver => "place looked over",
        TickCode::WorkAgreed => "permits and isolation settled",
        TickCode::UpstreamClosed => "upstream valve closed",
        TickCode::DownstreamClosed => "downstream valve closed",
        TickCode::LockedOff => "both locked off and tagged",
        TickCode::Drained => "drained, outflow led away",
        TickCode::GaugesAtZero => "all gauges at zero",
        TickCode::Strainer => "strainer clean and back in",
        TickCode::LoopFilter => "control-loop filter clean and back in",
        TickCode::FlowArrow => "arrow with the flow",
        TickCode::Supports => "supports carry the pipe",
        TickCode::Bolts => "bolts tight",
        TickCode::SmallPipes => "small pipes tight",
        TickCode::Gauges => "gauges in place and whole",
        TickCode::TrimCocks => "control-trim cocks open",
        TickCode::GaugeCocks => "gauge cocks open",
        TickCode::SeatAndSeal => "seat and seal sound",
        TickCode::MovingParts => "moving parts run freely",
        TickCode::Body => "body sound inside",
        TickCode::Pilot => "pilot clean and sound",
        TickCode::CoversClosed => "covers closed and tight",
        TickCode::ToolsCounted => "tools and rags counted",
        TickCode::LockNut => "lock nut tight",
        TickCode::Cap => "cap on",
        TickCode::LocksOff => "locks and tags off",
        TickCode::PlaceLeft => "place left in order",
        TickCode::Leak => "leak",
        TickCode::Damage => "damage",
        TickCode::Noise => "noise",
        TickCode::Flooding => "flooding",
        TickCode::Access => "access obstructed",
    }
}

/// A caution, where the act is.
#[must_use]
pub const fn caution(code: Caution) -> &'static str {
    match code {
        Caution::StoredPressure => {
            "Pressure is stored behind fittings and closed valves, also when a gauge shows none."
        }
        Caution::MoveSlowly => {
            "Valves are moved slowly: a fast one sends a pressure wave through the main."
        }
        Caution::ConfinedSpace => {
            "A chamber may be a confined space with bad air: site permits decide about entry."
        }
        Caution::LockOff => {
            "An isolation holds only when it is locked off and tagged by the site's own rules."
        }
        Caution::TellConsumers => "Those who draw water lose it, or see its pressure change.",
        Caution::Discharge => {
            "Water comes out under pressure, perhaps hot, perhaps where it does harm."
        }
        Caution::DownstreamPressure => "Everything downstream sees every turn of the screw.",
    }
}

/// Why a step was passed over, done out of order, or gone on with: with its words, if there are any.
#[must_use]
pub fn reason(reason: &Reason) -> String {
    let code = match reason.code {
        ReasonCode::NotFitted => "the station has no such part",
        ReasonCode::DoneBefore => "done before",
        ReasonCode::NotPossibleNow => "not possible now",
        ReasonCode::PartBroken => "part broken or unreadable",
        ReasonCode::OrderOfPlace => "another order suits the place",
        ReasonCode::ResponsibleDecided => "decided by whoever is responsible",
        ReasonCode::Other => "",
    };
    with_note(code, &reason.note)
}

/// Why a procedure was opened, with its note.
#[must_use]
pub fn open_reason(reason: Option<OpenReason>, note: &str) -> String {
    let code = match reason {
        Some(OpenReason::NewStation) => "new station",
        Some(OpenReason::AfterIntrusiveWork) => "opened up or parts changed",
        Some(OpenReason::Due) => "due",
        Some(OpenReason::OutletOff) => "outlet drifted or off",
        Some(OpenReason::OtherSetPoint) => "another set point wanted",
        Some(OpenReason::Finding) => "a finding or a suspect",
        Some(OpenReason::WasShut) => "station was shut",
        Some(OpenReason::Other) | None => "",
    };
    with_note(code, note)
}

fn with_note(code: &str, note: &str) -> String {
    match (code, note.trim()) {
        (code, "") => code.to_owned(),
        ("", note) => note.to_owned(),
        (code, note) => format!("{code}: {note}"),
    }
}

/// What was chosen.
#[must_use]
pub const fn branch(branch: Branch) -> &'static str {
    match branch {
        Branch::Keep => "set point kept",
        Branch::Recalibrate => "set anew",
    }
}

/// What is measured.
#[must_use]
pub const fn measure(code: MeasureCode) -> &'static str {
    match code {
        MeasureCode::Supply => "supply",
        MeasureCode::Inlet => "inlet",
        MeasureCode::Interstage => "interstage",
        MeasureCode::Outlet => "outlet",
        MeasureCode::FactorySetPoint => "set point it came with",
        MeasureCode::WantedSetPoint => "set point wanted",
        MeasureCode::TurnsBackedOff => "backed off by",
        MeasureCode::Flow => "draw-off",
        MeasureCode::Air => "air",
        MeasureCode::Ventings => "vented",
        MeasureCode::StrainerFound => "strainer found",
        MeasureCode::InsideFound => "inside found",
    }
}

/// A value as it was recorded.
#[must_use]
pub fn value(value: Value) -> String {
    match value {
        Value::Pressure(typed) => words::typed(typed),
        Value::Turns(turns) => format!("{turns} turns"),
        Value::Count(count) => words::count(u64::from(count), "time", "times"),
        Value::DrawOff(flow) => draw_off(flow).to_owned(),
        Value::Air(air) => match air {
            Air::None => "none any more".to_owned(),
            Air::Some => "still coming".to_owned(),
        },
        Value::Dirt(found) => dirt(found).to_owned(),
        Value::Inside(found) => inside(found).to_owned(),
    }
}

/// How much water was drawn.
#[must_use]
pub const fn draw_off(flow: DrawOff) -> &'static str {
    match flow {
        DrawOff::Usual => "usual",
        DrawOff::Minimum => "smallest",
        DrawOff::None => "none",
    }
}

/// What a strainer looked like.
#[must_use]
pub const fn dirt(found: Dirt) -> &'static str {
    match found {
        Dirt::Clean => "clean",
        Dirt::Light => "a little in it",
        Dirt::Heavy => "much in it",
        Dirt::Damaged => "broken or holed",
    }
}

/// In what state a stage was found inside.
#[must_use]
pub const fn inside(found: Inside) -> &'static str {
    match found {
        Inside::Sound => "as new",
        Inside::Worn => "worn, and left so",
        Inside::Renewed => "parts renewed",
    }
}
