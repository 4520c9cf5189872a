//! The segment files of a logbook: which there are, and appending to the newest.
//!
//! A segment is only ever appended to; when it is full, or its tail is doubtful, the next one is
//! begun. Nothing is cut off and nothing is removed.

use std::io::Read;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use winze_sync_format::disk::Disk;
use winze_sync_format::segment::SegmentWriter;

use crate::{Error, Result};

/// A segment is closed once it is this long: small enough to copy in one go, large enough that years
/// of readings are a handful of files.
pub(super) const FULL_BYTES: u64 = 4 * 1024 * 1024;

/// Which of the two series a segment belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Series {
    /// The own log.
    Own,
    /// Records that came in bundles or were saved from a damaged witness.
    Received,
}

impl Series {
    const fn prefix(self) -> &'static str {
        match self {
            Self::Own => "own-",
            Self::Received => "received-",
        }
    }

    fn name(self, number: u32) -> String {
        format!("{}{number:06}.seg", self.prefix())
    }

    /// The number of a segment of this series with that file name.
    fn number(self, name: &str) -> Option<u32> {
        let digits = name.strip_prefix(self.prefix())?.strip_suffix(".seg")?;
        let number: u32 = digits.parse().ok()?;
        (self.name(number) == name).then_some(number)
    }
}

impl Series {
    /// Says whether a file name is that of a segment of this series.
    pub(super) fn holds(self, name: &str) -> bool {
        self.number(name).is_some()
    }
}

/// Says whether a file name is that of a segment.
pub(super) fn is_segment(name: &str) -> bool {
    [Series::Own, Series::Received]
        .iter()
        .any(|series| series.number(name).is_some())
}

/// One series with its newest file.
struct Tail {
    newest: u32,
    writer: Option<SegmentWriter>,
}

/// All segments of a logbook.
pub(super) struct Segments {
    disk: Arc<dyn Disk>,
    dir: PathBuf,
    own: Tail,
    received: Tail,
}

impl Segments {
    /// Finds the segments in a folder.
    ///
    /// # Errors
    /// The system's, sorted.
    pub(super) fn find(disk: Arc<dyn Disk>, dir: &Path) -> Result<Self> {
        let names = disk
            .file_names(dir)
            .map_err(|error| Error::of_io("list files in", dir, error))?;
        let tail = |series: Series| {
            let newest = names
                .iter()
                .filter_map(|name| series.number(name))
                .max()
                .unwrap_or(0);
            Tail {
                newest,
                writer: None,
            }
        };
        let (own, received) = (tail(Series::Own), tail(Series::Received));
        Ok(Self {
            disk,
            dir: dir.to_owned(),
            own,
            received,
        })
    }

    /// The files of a series, oldest first.
    ///
    /// # Errors
    /// The system's, sorted.
    pub(super) fn files_of(&self, series: Series) -> Result<Vec<PathBuf>> {
        let names = self
            .disk
            .file_names(&self.dir)
            .map_err(|error| Error::of_io("list files in", &self.dir, error))?;
        let mut numbers: Vec<u32> = names
            .iter()
            .filter_map(|name| series.number(name))
            .collect();
        numbers.sort_unstable();
        Ok(numbers
            .into_iter()
            .map(|number| self.dir.join(series.name(number)))
            .collect())
    }

    /// Opens a segment to read it. The newest of a series is read from the medium itself: after a
    /// failed sync the system may still show what the medium never got.
    ///
    /// # Errors
    /// The system's, sorted.
    pub(super) fn read(&self, file: &Path) -> Result<Box<dyn Read + Send>> {
        let is_newest = [(Series::Own, &self.own), (Series::Received, &self.received)]
            .iter()
            .any(|(series, tail)| *file == self.dir.join(series.name(tail.newest)));
        let stream = if is_newest {
            self.disk.open_uncached(file)
        } else {
            self.disk.open(file)
        };
        stream.map_err(|error| Error::of_io("open", file, error))
    }

    /// Makes the newest file of a series last and, where it has room, gets ready to go on in it.
    /// Nothing is lost where that fails: the next record begins a new file. To be called before the
    /// file is read, so that what was read from the medium is what stays there.
    pub(super) fn resume(&mut self, series: Series) {
        let tail = self.tail(series).newest;
        if tail == 0 {
            return;
        }
        let path = self.dir.join(series.name(tail));
        let writer = SegmentWriter::open(&*self.disk, &path).ok();
        self.tail(series).writer = writer.filter(|writer| writer.length() < FULL_BYTES);
    }

    /// Lets the next record of a series begin a new file.
    pub(super) fn begin_anew(&mut self, series: Series) {
        self.tail(series).writer = None;
    }

    /// The newest file of a series, if there is one.
    pub(super) fn newest(&mut self, series: Series) -> Option<PathBuf> {
        let number = self.tail(series).newest;
        (number > 0).then(|| self.dir.join(series.name(number)))
    }

    /// Appends items and syncs once. When this fails the series must not be appended to again before
    /// the folder was opened anew.
    ///
    /// # Errors
    /// The system's, sorted.
    pub(super) fn append<'a>(
        &mut self,
        series: Series,
        items: impl Iterator<Item = &'a [u8]>,
    ) -> Result<()> {
        for item in items {
            let writer = self.writer(series)?;
            writer.append(item)?;
        }
        if let Some(writer) = &mut self.tail(series).writer {
            writer.sync()?;
        }
        Ok(())
    }

    /// Begins a new file with the next item of a series.
    ///
    /// # Errors
    /// The system's, sorted.
    pub(super) fn begin_file(&mut self, series: Series) -> Result<()> {
        if let Some(mut writer) = self.tail(series).writer.take() {
            // What is left behind must last before anything goes elsewhere.
            writer.sync()?;
        }
        Ok(())
    }

    /// The file to append to, begun anew where the last is full.
    fn writer(&mut self, series: Series) -> Result<&mut SegmentWriter> {
        let full = |writer: &SegmentWriter| writer.length() >= FULL_BYTES;
        if let Some(writer) = &mut self.tail(series).writer
            && full(writer)
        {
            // What is left behind must last before anything goes elsewhere.
            writer.sync()?;
            self.tail(series).writer = None;
        }
        if self.tail(series).writer.is_none() {
            let number = self.tail(series).newest + 1;
            let path = self.dir.join(series.name(number));
            let writer = SegmentWriter::create(&*self.disk, &path)?;
            let tail = self.tail(series);
            tail.newest = number;
            tail.writer = Some(writer);
        }
        self.tail(series)
            .writer
            .as_mut()
            .ok_or(Error::DatabaseContent { what: "no segment" })
    }

    fn tail(&mut self, series: Series) -> &mut Tail {
        match series {
            Series::Own => &mut self.own,
            Series::Received => &mut self.received,
        }
    }

    /// The disk the segments are on.
    pub(super) fn disk(&self) -> &dyn Disk {
        &*self.disk
    }

    /// The same, to keep.
    pub(super) fn shared_disk(&self) -> Arc<dyn Disk> {
        Arc::clone(&self.disk)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_names_we_would_give_are_segments() {
        assert_eq!(Series::Own.number("own-000001.seg"), Some(1));
        assert_eq!(Series::Received.number("received-000120.seg"), Some(120));
        for odd in [
            "own-1.seg",
            "own-000001.seg.bak",
            "own--00001.seg",
            "received-000001.seg",
        ] {
            assert_eq!(Series::Own.number(odd), None, "{odd}");
        }
    }
}
