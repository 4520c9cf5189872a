//! The closed lists procedures are made of: procedures, steps, ticks, cautions, reasons, branches.
//!
//! Only codes. What they say to people is written in the app, keyed by these lists.

use super::list::closed_list;

closed_list! {
    /// A procedure.
    ProcedureCode {
        /// Bring a station into service, new or after intrusive work.
        SetUp = "set-up",
        /// Set the second stage anew.
        Recalibrate = "recalibrate",
        /// Clean strainer and control-loop filter.
        YearlyClean = "yearly-clean",
        /// Open the stages and look inside.
        InternalInspection = "internal-inspection",
        /// Bring a station back that was only shut.
        ReturnToService = "return-to-service",
        /// Look at the station and read its gauges.
        WeeklyLookRound = "weekly-look-round",
    }
}

closed_list! {
    /// A step. One code means the same act in every procedure that has it.
    StepCode {
        /// Before anything is touched: people, place, permits, isolation plan.
        Prepare = "prepare",
        /// The three gauges as they stand before any work.
        AsFound = "as-found",
        /// Both isolating valves closed and locked off.
        Isolate = "isolate",
        /// The pressure between them let off.
        Pressureless = "pressureless",
        /// The pipe flushed before it feeds the station.
        Flush = "flush",
        /// Strainer and control-loop filter cleaned.
        StrainerClean = "strainer-clean",
        /// The first stage opened and looked at.
        InspectFirst = "inspect-first",
        /// The second stage with its pilot opened and looked at.
        InspectSecond = "inspect-second",
        /// Everything opened closed again, tools counted.
        CloseUp = "close-up",
        /// Bolts, supports, small pipes and gauges firm, arrow the right way.
        InstallationFirm = "installation-firm",
        /// Both isolating valves closed.
        ValvesClosed = "valves-closed",
        /// The usual pressure stands before the upstream valve.
        SupplyPresent = "supply-present",
        /// Control-trim cocks and gauge cocks open.
        CocksOpen = "cocks-open",
        /// The set point as it came from the factory or the bench, and the one wanted.
        FactorySetPoint = "factory-set-point",
        /// The set point wanted.
        WantedSetPoint = "wanted-set-point",
        /// Whether station, set point and duty suit each other.
        Compatibility = "compatibility",
        /// Keep the set point, or recalibrate.
        Branch = "branch",
        /// The adjusting screw fully backed off.
        ScrewBackedOff = "screw-backed-off",
        /// Cap off and lock nut loose.
        LockNutLoose = "lock-nut-loose",
        /// The upstream valve opened slowly.
        OpenUpstream = "open-upstream",
        /// The downstream valve opened a part.
        OpenDownstreamPartly = "open-downstream-partly",
        /// Water is drawn, and how much.
        Flow = "flow",
        /// The screw turned in slowly, the pressure followed.
        Calibrate = "calibrate",
        /// Lock nut tight, cap on.
        LockNutAndCap = "lock-nut-and-cap",
        /// The first stage vented until no air comes.
        VentFirst = "vent-first",
        /// The second stage vented until no air comes.
        VentSecond = "vent-second",
        /// The downstream valve opened fully, slowly.
        OpenDownstream = "open-downstream",
        /// What was noticed on the look-round.
        Look = "look",
        /// The three gauges of the look-round.
        Readings = "readings",
        /// The three gauges as they stand after the work.
        AsLeft = "as-left",
        /// Whether the readings left behind are as they should be.
        LeftFigures = "left-figures",
        /// People told, place left in order.
        Told = "told",
    }
}

closed_list! {
    /// Something seen to, or on a look-round noticed.
    TickCode {
        /// Those who draw water know.
        ConsumersTold = "consumers-told",
        /// The place was looked over: roof, way out, air, light.
        PlaceLookedOver = "place-looked-over",
        /// Permits and the isolation are settled with whoever is responsible.
        WorkAgreed = "work-agreed",
        /// The upstream isolating valve is closed.
        UpstreamClosed = "upstream-closed",
        /// The downstream isolating valve is closed.
        DownstreamClosed = "downstream-closed",
        /// Both are locked off and tagged.
        LockedOff = "locked-off",
        /// The drain or vent was opened with the outflow led away.
        Drained = "drained",
        /// All gauges show nothing.
        GaugesAtZero = "gauges-at-zero",
        /// The main strainer is clean and back in.
        Strainer = "strainer",
        /// The control-loop filter is clean and back in.
        LoopFilter = "loop-filter",
        /// The arrow points with the flow.
        FlowArrow = "flow-arrow",
        /// Supports carry the pipe.
        Supports = "supports",
        /// Bolts are tight.
        Bolts = "bolts",
        /// Small pipes and fittings are tight.
        SmallPipes = "small-pipes",
        /// All three gauges are in place and whole.
        Gauges = "gauges",
        /// The control-trim cocks are open.
        TrimCocks = "trim-cocks",
        /// The gauge cocks are open.
        GaugeCocks = "gauge-cocks",
        /// Seat and seal are sound.
        SeatAndSeal = "seat-and-seal",
        /// Moving parts run freely.
        MovingParts = "moving-parts",
        /// The body is sound inside.
        Body = "body",
        /// The pilot is clean and sound.
        Pilot = "pilot",
        /// The covers are closed and tight.
        CoversClosed = "covers-closed",
        /// Tools and rags are counted.
        ToolsCounted = "tools-counted",
        /// The lock nut is tight.
        LockNut = "lock-nut",
        /// The cap is on.
        Cap = "cap",
        /// Locks and tags are off.
        LocksOff = "locks-off",
        /// The place is left in order.
        PlaceLeft = "place-left",
        /// Water where it should not be.
        Leak = "leak",
        /// Something broken or corroded.
        Damage = "damage",
        /// Noise or shaking.
        Noise = "noise",
        /// Water standing in the chamber.
        Flooding = "flooding",
        /// The way in is obstructed.
        Access = "access",
    }
}

closed_list! {
    /// A usual safety caution. It informs: local codes, permits and licensed people decide.
    Caution {
        /// Pressure is stored behind fittings.
        StoredPressure = "stored-pressure",
        /// Valves are moved slowly: water hammer.
        MoveSlowly = "move-slowly",
        /// A confined space, possibly with bad air.
        ConfinedSpace = "confined-space",
        /// Isolation holds only when locked off.
        LockOff = "lock-off",
        /// Consumers lose water or pressure.
        TellConsumers = "tell-consumers",
        /// Water comes out, perhaps hot, under pressure or where it does harm.
        Discharge = "discharge",
        /// What is downstream sees every turn of the screw.
        DownstreamPressure = "downstream-pressure",
    }
}

closed_list! {
    /// Why a step is passed over, done out of order or done although the figures say stop.
    ReasonCode {
        /// The station has no such part.
        NotFitted = "not-fitted",
        /// It was done before, and that is known.
        DoneBefore = "done-before",
        /// It cannot be done now.
        NotPossibleNow = "not-possible-now",
        /// The part is broken or unreadable.
        PartBroken = "part-broken",
        /// Another order suits the place better.
        OrderOfPlace = "order-of-place",
        /// Whoever is responsible for the station decided so.
        ResponsibleDecided = "responsible-decided",
        /// Something else, said in the note.
        Other = "other",
    }
}

closed_list! {
    /// Why a procedure is opened.
    OpenReason {
        /// The station is new.
        NewStation = "new-station",
        /// The station was opened up or parts were changed.
        AfterIntrusiveWork = "after-intrusive-work",
        /// It falls due.
        Due = "due",
        /// The outlet has drifted or is off.
        OutletOff = "outlet-off",
        /// Another set point is wanted.
        OtherSetPoint = "other-set-point",
        /// A finding or a suspect asks for it.
        Finding = "finding",
        /// The station was shut.
        WasShut = "was-shut",
        /// Something else, said in the note.
        Other = "other",
    }
}

closed_list! {
    /// What can be chosen where a procedure divides.
    Branch {
        /// The set point stays as it came.
        Keep = "keep",
        /// The second stage is set anew.
        Recalibrate = "recalibrate",
    }
}

/// A stated reason: a code, and words with [`ReasonCode::Other`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reason {
    /// Which.
    pub code: ReasonCode,
    /// More about it.
    pub note: String,
}

impl Reason {
    /// A reason with words.
    #[must_use]
    pub fn new(code: ReasonCode, note: impl Into<String>) -> Self {
        Self {
            code,
            note: note.into(),
        }
    }

    /// Whether it says something: "other" alone does not.
    #[must_use]
    pub fn is_stated(&self) -> bool {
        self.code != ReasonCode::Other || !self.note.trim().is_empty()
    }
}
