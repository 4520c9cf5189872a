//! Signatures the actions and queries build on.
#![allow(unused_variables, clippy::pedantic, missing_docs)]
use crate::actions::SavedDraft;
use crate::merge::QuestionId;
use crate::query::*;
use crate::station::{Station, StationCode};
use crate::store::NewRecord;
use crate::{Logbook, Result};
use winze_sync_format::RecordRef;

impl Logbook {
    pub(crate) fn confirm_one(&mut self, record: NewRecord) -> Result<RecordRef> {
        todo!()
    }
    pub(crate) fn confirm(&mut self, records: Vec<NewRecord>) -> Result<Vec<RecordRef>> {
        todo!()
    }
    pub(crate) fn read_stations(&self) -> Result<Vec<StationRow>> {
        todo!()
    }
    pub(crate) fn read_station(&self, code: &StationCode) -> Result<Option<StationDetail>> {
        todo!()
    }
    pub(crate) fn read_definition(&self, at: RecordRef) -> Result<Station> {
        todo!()
    }
    pub(crate) fn read_visits(
        &self,
        code: &StationCode,
        from_ms: i64,
        to_ms: i64,
        limit: Option<usize>,
    ) -> Result<Vec<Visit>> {
        todo!()
    }
    pub(crate) fn read_counted_visits(
        &self,
        code: &StationCode,
        limit: usize,
    ) -> Result<Vec<Visit>> {
        todo!()
    }
    pub(crate) fn read_visit(&self, at: RecordRef) -> Result<Visit> {
        todo!()
    }
    pub(crate) fn own_open_round(&self) -> Result<Option<RecordRef>> {
        todo!()
    }
    pub(crate) fn round_is_closed(&self, at: RecordRef) -> Result<Option<bool>> {
        todo!()
    }
    pub(crate) fn read_round(&self, at: RecordRef) -> Result<RoundView> {
        todo!()
    }
    pub(crate) fn newest_rounds(&self, limit: usize) -> Result<Vec<RecordRef>> {
        todo!()
    }
    pub(crate) fn read_questions(&self, answered_too: bool) -> Result<Vec<QuestionView>> {
        todo!()
    }
    pub(crate) fn read_question(&self, id: QuestionId) -> Result<Option<QuestionView>> {
        todo!()
    }
    pub(crate) fn read_logs(&self) -> Result<Vec<LogView>> {
        todo!()
    }
    pub(crate) fn count_not_acknowledged(&self) -> Result<u64> {
        todo!()
    }
    pub(crate) fn read_record(&self, at: RecordRef) -> Result<RecordView> {
        todo!()
    }
    pub(crate) fn find_by_id_prefix(&self, prefix: &str, limit: usize) -> Result<Vec<RecordRef>> {
        todo!()
    }
    pub(crate) fn own_reading_with_nonce(
        &self,
        code: &StationCode,
        nonce: [u8; 8],
    ) -> Result<Option<RecordRef>> {
        todo!()
    }
    pub(crate) fn has_sheet_row(
        &self,
        code: &StationCode,
        taken_ms: i64,
        digest: [u8; 32],
    ) -> Result<bool> {
        todo!()
    }
    pub(crate) fn correction_heads(
        &self,
        code: &StationCode,
        reading: RecordRef,
    ) -> Result<Vec<RecordRef>> {
        todo!()
    }
    pub(crate) fn revision_heads(&self, code: &StationCode) -> Result<Vec<RecordRef>> {
        todo!()
    }
    pub(crate) fn answer_heads(&self, question: QuestionId) -> Result<Vec<RecordRef>> {
        todo!()
    }
    pub(crate) fn write_draft(&mut self, name: &str, content: &str) -> Result<()> {
        todo!()
    }
    pub(crate) fn read_draft(&self, name: &str) -> Result<Option<SavedDraft>> {
        todo!()
    }
    pub(crate) fn read_drafts(&self) -> Result<Vec<SavedDraft>> {
        todo!()
    }
    pub(crate) fn remove_draft(&mut self, name: &str) -> Result<()> {
        todo!()
    }
}
