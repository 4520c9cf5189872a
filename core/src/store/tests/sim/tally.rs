//! What went on in simulated worlds, counted, so that a long run can tell how much it tried.

/// What went on, for the long run to tell.
#[derive(Debug, Clone, Default)]
pub struct Tally {
    pub devices: u64,
    pub days: u64,
    pub safe: u64,
    pub sticks: u64,
    pub lost: u64,
    pub damaged: u64,
    pub stale: u64,
    pub full: u64,
    pub kills: u64,
    pub copies: u64,
    pub revoked: u64,
    pub unknown: u64,
    pub forks: u64,
}

impl Tally {
    pub fn add(&mut self, other: &Self) {
        self.devices += other.devices;
        self.days += other.days;
        self.safe += other.safe;
        self.sticks += other.sticks;
        self.lost += other.lost;
        self.damaged += other.damaged;
        self.stale += other.stale;
        self.full += other.full;
        self.kills += other.kills;
        self.copies += other.copies;
        self.revoked += other.revoked;
        self.unknown += other.unknown;
        self.forks += other.forks;
    }
}

impl std::fmt::Display for Tally {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            f,
            "{} devices, {} days, {} records called safe, {} sticks ({} lost, {} damaged, {} stale), \
             {} full disks, {} kills, {} copied tablets ({} forked logs), {} revocations, {} records \
             of unknown kinds",
            self.devices,
            self.days,
            self.safe,
            self.sticks,
            self.lost,
            self.damaged,
            self.stale,
            self.full,
            self.kills,
            self.copies,
            self.forks,
            self.revoked,
            self.unknown
        )
    }
}
