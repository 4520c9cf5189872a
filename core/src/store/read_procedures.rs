//! Reading the records about procedures.

use winze_sync_format::{Opened, RecordRef, SignedRecord};

use super::Logbook;
use super::database::During;
use super::read_stations::code_in;
use crate::Result;
use crate::record::Body;
use crate::station::StationCode;

impl Logbook {
    /// The records about procedures at a station that count, in no particular order.
    pub(crate) fn read_procedure_records(
        &self,
        code: &StationCode,
    ) -> Result<Vec<(SignedRecord, Body)>> {
        self.database.counted_about("procedure_record", code)
    }

    /// The stations at which a procedure was opened, by code.
    pub(crate) fn stations_with_procedures(&self) -> Result<Vec<StationCode>> {
        let action = "list stations with procedures";
        let mut query = self
            .database
            .connection
            .prepare_cached("SELECT DISTINCT station FROM procedure_record ORDER BY station")
            .during(action)?;
        let mut rows = query.query([]).during(action)?;
        let mut codes = Vec::new();
        while let Some(row) = rows.next().during(action)? {
            codes.push(code_in(row, 0)?);
        }
        Ok(codes)
    }

    /// The station of a procedure, counted or not.
    pub(crate) fn station_of_procedure(&self, at: RecordRef) -> Result<Option<StationCode>> {
        let Some(Opened::Record(record)) = self.database.find_item(at)? else {
            return Ok(None);
        };
        match Body::decode(record.kind(), record.body()) {
            Ok(Body::ProcedureOpened(opened)) => Ok(Some(opened.station)),
            _ => Ok(None),
        }
    }
}
