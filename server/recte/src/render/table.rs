//! The table of a batch: a line for each tune, the longest to review first, and the same with commas (RFC 4180).

use recte_assist::report::TuneReport;
use recte_review::{Family, Severity};

/// A tune of a batch.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Line {
    pub(crate) path: String,
    pub(crate) title: String,
    pub(crate) reference: Option<String>,
    pub(crate) bars: usize,
    pub(crate) seconds: Option<(f64, f64)>,
    /// Warnings and errors.
    pub(crate) to_settle: usize,
    /// All remarks.
    pub(crate) remarks: usize,
    /// The same by family.
    pub(crate) families: [usize; 6],
    /// The reviewer's own.
    pub(crate) own: usize,
}

impl Line {
    /// Of a tune.
    pub(crate) fn of(path: &str, report: &TuneReport) -> Line {
        Line {
            path: path.to_owned(),
            title: report.title.clone(),
            reference: report.reference.clone(),
            bars: report.piece.bars,
            seconds: report.piece.seconds,
            to_settle: report.at_least(Severity::Warning),
            remarks: report.remarks.len(),
            families: Family::ALL.map(|family| report.count(family)),
            own: report.margin.len(),
        }
    }

    /// How long it will take to review: what has to be settled, then what else there is to say, then how much music.
    pub(crate) fn work(&self) -> (usize, usize, usize) {
        (self.to_settle, self.remarks, self.bars)
    }
}

/// The table with commas.
///
/// # Errors
/// It cannot be written.
pub(crate) fn csv(lines: &[Line]) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let head = ["path", "tune", "title", "bars", "seconds", "to settle", "remarks"];
    writer
        .write_record(head.into_iter().chain(Family::ALL.map(Family::name)).chain(["reviewer"]))?;
    for line in lines {
        let seconds =
            line.seconds.map(|(least, most)| (f64::midpoint(least, most)).round().to_string());
        let numbers =
            [line.to_settle, line.remarks].into_iter().chain(line.families).chain([line.own]);
        let mut record = vec![
            line.path.clone(),
            line.reference.clone().unwrap_or_default(),
            line.title.clone(),
            line.bars.to_string(),
            seconds.unwrap_or_default(),
        ];
        record.extend(numbers.map(|number| number.to_string()));
        writer.write_record(record)?;
    }
    writer.into_inner().map_err(|error| error.into_error().into())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn commas_and_quotes_are_quoted() {
        let line = Line {
            path: "a.abc".to_owned(),
            title: "One, \"two\"".to_owned(),
            reference: Some("1".to_owned()),
            bars: 8,
            seconds: Some((10.0, 13.0)),
            to_settle: 1,
            remarks: 3,
            families: [1, 1, 1, 0, 0, 0],
            own: 2,
        };
        let text = String::from_utf8(csv(&[line]).unwrap()).unwrap();
        let mut lines = text.lines();
        assert_eq!(
            lines.next(),
            Some(
                "path,tune,title,bars,seconds,to settle,remarks,spelling,metre,idiom,harmony,texture,source,reviewer"
            )
        );
        assert_eq!(lines.next(), Some("a.abc,1,\"One, \"\"two\"\"\",8,12,1,3,1,1,1,0,0,0,2"));
    }
}
