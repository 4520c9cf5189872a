//! The header and the trailer of a bundle: signed like records, but part of no log.

use super::ranges::RangeSet;
use crate::canonical::{Encoder, Reader};
use crate::error::{Error, Result};
use crate::id::{LogId, RecordId, RecordRef};
use crate::record::{ClockReading, Record, read_ref, write_ref};

/// Most entries of the list of what the receiver is believed to hold.
pub(super) const FRONTIER_MAX: usize = 512;

/// What a bundle says at its start.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BundleHeader {
    /// The logbook that packed the bundle.
    pub exporter: LogId,
    /// The hash of the header; the trailer names it.
    pub id: RecordId,
    /// What the exporter calls itself.
    pub label: String,
    /// Who packed it.
    pub person: String,
    /// What the exporter's clocks showed.
    pub clock: ClockReading,
    /// The places that belong to the bundle.
    pub ranges: RangeSet,
    /// How many records belong to it; more than places where a log has forked.
    pub records: u64,
    /// The last record of each log that the receiver is believed to hold. Advice only.
    pub frontier: Vec<RecordRef>,
}

/// What a bundle says at its end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BundleTrailer {
    /// The header that it closes.
    pub header: RecordId,
    /// How many records stand between the two.
    pub records: u64,
    /// How many bytes stand before the trailer.
    pub bytes: u64,
    /// SHA-256 of those bytes.
    pub sha256: [u8; 32],
    /// The places that belong to the bundle, again.
    pub ranges: RangeSet,
}

pub(super) fn header_body(
    label: &str,
    ranges: &RangeSet,
    records: u64,
    frontier: &[RecordRef],
) -> Result<Vec<u8>> {
    let mut out = Encoder::new();
    out.map(4);
    out.key(0).text(label);
    ranges.write(out.key(1));
    out.key(2).uint(records);
    out.key(3).array(frontier.len());
    for reference in frontier {
        write_ref(&mut out, reference);
    }
    out.finish()
}

pub(super) fn read_header(record: &Record, id: RecordId) -> Result<BundleHeader> {
    let mut reader = Reader::new(&record.body);
    reader.map()?;
    reader.expect_key(0)?;
    let label = reader.text()?.to_owned();
    reader.expect_key(1)?;
    let ranges = RangeSet::read(&mut reader)?;
    reader.expect_key(2)?;
    let records = reader.uint()?;
    reader.expect_key(3)?;
    let count = reader.array()?;
    if count > FRONTIER_MAX as u64 {
        let offset = reader.offset();
        return Err(Error::BadField {
            offset,
            field: "frontier",
            what: "more than 512",
        });
    }
    let frontier = (0..count)
        .map(|_| read_ref(&mut reader))
        .collect::<Result<_>>()?;
    reader.end()?;
    reader.end()?;
    reader.finish()?;
    let person = record.person.clone();
    let (exporter, clock) = (record.log, record.clock);
    Ok(BundleHeader {
        exporter,
        id,
        label,
        person,
        clock,
        ranges,
        records,
        frontier,
    })
}

impl BundleTrailer {
    pub(super) fn body(&self) -> Result<Vec<u8>> {
        let mut out = Encoder::new();
        out.map(5);
        out.key(0).bytes(&self.header.0);
        out.key(1).uint(self.records);
        out.key(2).uint(self.bytes);
        out.key(3).bytes(&self.sha256);
        self.ranges.write(out.key(4));
        out.finish()
    }

    pub(super) fn read(body: &[u8]) -> Result<Self> {
        let mut reader = Reader::new(body);
        reader.map()?;
        reader.expect_key(0)?;
        let header = RecordId(reader.fixed_bytes()?);
        reader.expect_key(1)?;
        let records = reader.uint()?;
        reader.expect_key(2)?;
        let bytes = reader.uint()?;
        reader.expect_key(3)?;
        let sha256 = reader.fixed_bytes()?;
        reader.expect_key(4)?;
        let ranges = RangeSet::read(&mut reader)?;
        reader.end()?;
        reader.finish()?;
        Ok(Self {
            header,
            records,
            bytes,
            sha256,
            ranges,
        })
    }
}
