//! The small tools every body is written and read with.
//!
//! A body is a map with ascending unsigned keys. Writing builds a little tree of [`Value`]s and lets
//! the canonical encoder write it; absent optional fields are left out. Reading asks for the fields
//! in ascending order and refuses whatever is left over.

use winze_sync_format::canonical::{Encoder, Reader};
use winze_sync_format::{Decimal, LogId, RecordId, RecordRef};

use super::{BodyError, BodyResult};
use crate::units::{Typed, Unit};

/// One value of a body.
pub(super) enum Value<'a> {
    Uint(u64),
    Int(i64),
    Text(&'a str),
    Bytes(&'a [u8]),
    Decimal(Decimal),
    Reference(RecordRef),
    List(Vec<Value<'a>>),
    Map(Fields<'a>),
}

impl Value<'_> {
    fn write(&self, out: &mut Encoder) {
        match self {
            Self::Uint(value) => {
                out.uint(*value);
            }
            Self::Int(value) => {
                out.int(*value);
            }
            Self::Text(value) => {
                out.text(value);
            }
            Self::Bytes(value) => {
                out.bytes(value);
            }
            Self::Decimal(value) => {
                out.decimal(*value);
            }
            Self::Reference(at) => {
                out.array(3).bytes(&at.log.0).uint(at.seq).bytes(&at.id.0);
            }
            Self::List(items) => {
                out.array(items.len());
                for item in items {
                    item.write(out);
                }
            }
            Self::Map(fields) => fields.write(out),
        }
    }
}

impl From<u64> for Value<'_> {
    fn from(value: u64) -> Self {
        Self::Uint(value)
    }
}

impl From<u32> for Value<'_> {
    fn from(value: u32) -> Self {
        Self::Uint(u64::from(value))
    }
}

impl From<i64> for Value<'_> {
    fn from(value: i64) -> Self {
        Self::Int(value)
    }
}

impl From<i32> for Value<'_> {
    fn from(value: i32) -> Self {
        Self::Int(i64::from(value))
    }
}

impl<'a> From<&'a str> for Value<'a> {
    fn from(value: &'a str) -> Self {
        Self::Text(value)
    }
}

impl<'a, const N: usize> From<&'a [u8; N]> for Value<'a> {
    fn from(value: &'a [u8; N]) -> Self {
        Self::Bytes(value)
    }
}

impl From<Decimal> for Value<'_> {
    fn from(value: Decimal) -> Self {
        Self::Decimal(value)
    }
}

impl From<RecordRef> for Value<'_> {
    fn from(value: RecordRef) -> Self {
        Self::Reference(value)
    }
}

impl From<Typed> for Value<'_> {
    fn from(value: Typed) -> Self {
        Self::List(vec![
            Self::Decimal(value.digits),
            Self::Uint(value.unit.number()),
        ])
    }
}

impl<'a> From<Fields<'a>> for Value<'a> {
    fn from(value: Fields<'a>) -> Self {
        Self::Map(value)
    }
}

/// The fields of one map, put in ascending order of key.
#[derive(Default)]
pub(super) struct Fields<'a>(Vec<(u64, Value<'a>)>);

impl<'a> Fields<'a> {
    /// Starts with no field.
    pub(super) fn new() -> Self {
        Self::default()
    }

    /// Adds a field.
    pub(super) fn put(mut self, key: u64, value: impl Into<Value<'a>>) -> Self {
        self.0.push((key, value.into()));
        self
    }

    /// Adds a field when there is a value for it.
    pub(super) fn put_some(self, key: u64, value: Option<impl Into<Value<'a>>>) -> Self {
        match value {
            Some(value) => self.put(key, value),
            None => self,
        }
    }

    /// Adds a text unless it is empty.
    pub(super) fn put_text(self, key: u64, text: &'a str) -> Self {
        self.put_some(key, (!text.is_empty()).then_some(text))
    }

    /// Adds a list unless it is empty.
    pub(super) fn put_list(self, key: u64, list: Vec<Value<'a>>) -> Self {
        self.put_some(key, (!list.is_empty()).then_some(Value::List(list)))
    }

    /// Adds a map unless it has no field.
    pub(super) fn put_map(self, key: u64, map: Fields<'a>) -> Self {
        self.put_some(key, (!map.0.is_empty()).then_some(map))
    }

    fn write(&self, out: &mut Encoder) {
        out.map(self.0.len());
        for (key, value) in &self.0 {
            out.key(*key);
            value.write(out);
        }
    }

    /// Writes the map in canonical form.
    pub(super) fn encode(self) -> BodyResult<Vec<u8>> {
        let mut out = Encoder::new();
        self.write(&mut out);
        Ok(out.finish()?)
    }
}

/// The largest number of preallocated places a declared length can ask for.
const RESERVE_MAX: u64 = 64;

/// Reads values that several bodies have in common.
pub(super) trait ReadExt<'a> {
    /// Reads a field that must be there.
    fn need<T>(
        &mut self,
        key: u64,
        read: impl FnOnce(&mut Reader<'a>) -> BodyResult<T>,
    ) -> BodyResult<T>;
    /// Reads a field that may be absent.
    fn maybe<T>(
        &mut self,
        key: u64,
        read: impl FnOnce(&mut Reader<'a>) -> BodyResult<T>,
    ) -> BodyResult<Option<T>>;
    /// Reads a text that is left out when empty.
    fn maybe_text(&mut self, key: u64, field: &'static str) -> BodyResult<String>;
    /// Reads a list that is left out when empty.
    fn maybe_list<T>(
        &mut self,
        key: u64,
        field: &'static str,
        read: impl FnMut(&mut Reader<'a>) -> BodyResult<T>,
    ) -> BodyResult<Vec<T>>;
    /// Reads the values of an array.
    fn items<T>(
        &mut self,
        read: impl FnMut(&mut Reader<'a>) -> BodyResult<T>,
    ) -> BodyResult<Vec<T>>;
    /// Reads a reference.
    fn reference(&mut self) -> BodyResult<RecordRef>;
    /// Reads the name of a log.
    fn log_id(&mut self) -> BodyResult<LogId>;
    /// Reads a pressure as typed.
    fn typed(&mut self) -> BodyResult<Typed>;
    /// Reads an unsigned number of 32 bits.
    fn uint32(&mut self, field: &'static str) -> BodyResult<u32>;
    /// Reads a number of 32 bits.
    fn int32(&mut self, field: &'static str) -> BodyResult<i32>;
}

impl<'a> ReadExt<'a> for Reader<'a> {
    fn need<T>(
        &mut self,
        key: u64,
        read: impl FnOnce(&mut Reader<'a>) -> BodyResult<T>,
    ) -> BodyResult<T> {
        self.expect_key(key)?;
        read(self)
    }

    fn maybe<T>(
        &mut self,
        key: u64,
        read: impl FnOnce(&mut Reader<'a>) -> BodyResult<T>,
    ) -> BodyResult<Option<T>> {
        if self.optional_key(key)? {
            read(self).map(Some)
        } else {
            Ok(None)
        }
    }

    fn maybe_text(&mut self, key: u64, field: &'static str) -> BodyResult<String> {
        match self.maybe(key, |reader| Ok(reader.text()?))? {
            Some("") => Err(BodyError::field(field, "empty instead of absent")),
            Some(text) => Ok(text.to_owned()),
            None => Ok(String::new()),
        }
    }

    fn maybe_list<T>(
        &mut self,
        key: u64,
        field: &'static str,
        read: impl FnMut(&mut Reader<'a>) -> BodyResult<T>,
    ) -> BodyResult<Vec<T>> {
        match self.maybe(key, |reader| reader.items(read))? {
            Some(list) if list.is_empty() => {
                Err(BodyError::field(field, "empty instead of absent"))
            }
            Some(list) => Ok(list),
            None => Ok(Vec::new()),
        }
    }

    fn items<T>(
        &mut self,
        mut read: impl FnMut(&mut Reader<'a>) -> BodyResult<T>,
    ) -> BodyResult<Vec<T>> {
        let count = self.array()?;
        let reserve = usize::try_from(count.min(RESERVE_MAX)).unwrap_or_default();
        let mut items = Vec::with_capacity(reserve);
        for _ in 0..count {
            items.push(read(self)?);
        }
        self.end()?;
        Ok(items)
    }

    fn reference(&mut self) -> BodyResult<RecordRef> {
        if self.array()? != 3 {
            return Err(BodyError::field(
                "reference",
                "not log, sequence number and id",
            ));
        }
        let log = LogId(self.fixed_bytes()?);
        let seq = self.uint()?;
        let id = RecordId(self.fixed_bytes()?);
        self.end()?;
        Ok(RecordRef { log, seq, id })
    }

    fn log_id(&mut self) -> BodyResult<LogId> {
        Ok(LogId(self.fixed_bytes()?))
    }

    fn typed(&mut self) -> BodyResult<Typed> {
        if self.array()? != 2 {
            return Err(BodyError::field("pressure", "not digits and unit"));
        }
        let digits = self.decimal()?;
        let unit = Unit::from_number(self.uint()?)
            .ok_or(BodyError::field("pressure", "a unit nobody uses here"))?;
        self.end()?;
        Ok(Typed { digits, unit })
    }

    fn uint32(&mut self, field: &'static str) -> BodyResult<u32> {
        u32::try_from(self.uint()?).map_err(|_| BodyError::field(field, "too large"))
    }

    fn int32(&mut self, field: &'static str) -> BodyResult<i32> {
        i32::try_from(self.int()?).map_err(|_| BodyError::field(field, "too large"))
    }
}

/// Reads a whole body: one map and nothing after it.
pub(super) fn decode<T>(
    body: &[u8],
    read: impl for<'a> FnOnce(&mut Reader<'a>) -> BodyResult<T>,
) -> BodyResult<T> {
    let mut reader = Reader::new(body);
    let value = in_map(&mut reader, read)?;
    reader.finish()?;
    Ok(value)
}

/// Reads a map inside a body.
pub(super) fn in_map<'a, T>(
    reader: &mut Reader<'a>,
    read: impl FnOnce(&mut Reader<'a>) -> BodyResult<T>,
) -> BodyResult<T> {
    reader.map()?;
    let value = read(reader)?;
    reader.end()?;
    Ok(value)
}
