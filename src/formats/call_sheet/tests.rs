use super::*;
use crate::domain::Call;
use proptest::prelude::*;

fn call(capture: &str, cylinders: &str, confidence: Option<f64>, note: &str) -> Entry {
    Entry {
        confidence,
        note: note.into(),
        ..Entry::new(capture, cylinders.parse().unwrap())
    }
}

fn faults(sheet: impl AsRef<[u8]>) -> Vec<String> {
    let (_, faults) = read("a.csv", sheet.as_ref(), None);
    faults.iter().map(Fault::to_string).collect()
}

#[test]
fn a_plain_sheet_is_read() {
    let sheet = "capture,cylinders,confidence,note\n\
                 q1,3,0.8,\"steep, late\"\nq2,2|5,,\nq3,none,95%,no pulses\n";
    let expected = vec![
        call("q1", "3", Some(0.8), "steep, late"),
        call("q2", "2|5", None, ""),
        call("q3", "none", Some(0.95), "no pulses"),
    ];
    assert_eq!(read("a.csv", sheet.as_bytes(), None), (expected, vec![]));
}

#[test]
fn what_a_spreadsheet_does_to_a_file_is_forgiven() {
    let expected = vec![
        call("q1", "3", Some(0.8), "zu spät"),
        call("q2", "2+5", None, ""),
    ];
    for sheet in [
        "\u{feff}Capture;Cylinders;Confidence;Note\r\nq1;3;0,8;zu spät\r\n;;;\r\n\r\nq2;2 + 5;;\r\n",
        "name\tCYLINDERS\tcapture\tnote\tconfidence\n\n\nme\t3\tq1\tzu spät\t80 %\n \nme\t5+2\tq2\n",
        "capture,cylinders,confidence,note\rq1,3,0.8,zu spät\rq2,2+5",
        "sep=;\r\ncapture;cylinders;confidence;note;;\r\nq1;3;0,8;zu spät;;\r\n\"q2\";\"2+5\";;;;\r\n;;;;;\r\n",
        "\u{feff}\"SEP=|\"\ncapture|cylinders|confidence|note\nq1|3|\"0,8\"|zu spät\nq2|2+5\n",
        "\n\ncapture , cylinders , confidence , note , score\nq1, 3, 80%, zu spät, x\nq2,2+5,,,\n,,,,\n",
    ] {
        assert_eq!(
            read("a.csv", sheet.as_bytes(), None),
            (expected.clone(), vec![]),
            "{sheet}"
        );
    }
    let (calls, faults) = read("a.csv", b"cylinders,capture\n3,q1\n", None);
    assert_eq!((calls, faults), (vec![call("q1", "3", None, "")], vec![]));
}

#[test]
fn every_unreadable_cell_is_named_and_the_rest_is_read() {
    let sheet = "capture,cylinders,confidence,note\n\n\
                 q1,3 or 4,2,\n,3,,\nq3,2,80,\"two\nlines\"\nq4,,90%,\nq5,5,0.5,fine\n";
    let (calls, faults) = read("a.csv", sheet.as_bytes(), None);
    let expected = [
        call("q3", "2", None, "two\nlines"),
        call("q5", "5", Some(0.5), "fine"),
    ];
    assert_eq!(calls, expected);
    assert_eq!(faults.len(), 5);
    let parts = [
        "a.csv: line 3, column cylinders: \"3 or 4\" is not a call; write a cylinder such as 3",
        "a.csv: line 3, column confidence: \"2\" is more than 1; write 2% or 0.02",
        "a.csv: line 4, column capture: the cell is empty; write the name of the capture",
        "a.csv: line 5, column confidence: \"80\" is more than 1; write 80% or 0.8",
        "a.csv: line 7, column cylinders: the cell is empty; write a cylinder such as 3",
    ];
    let windows = sheet.replace('\n', "\r\n");
    for faults in [self::faults(sheet), self::faults(windows)] {
        for (fault, part) in faults.iter().zip(parts) {
            assert!(fault.starts_with(part), "{fault}");
        }
    }
}

#[test]
fn a_blank_row_is_a_capture_that_was_not_called() {
    let head = "capture,cylinders,confidence,note,pack\n";
    let (calls, faults) = read(
        "a.csv",
        format!("{head}q1,,,,p\nq2,3, ,,p\n").as_bytes(),
        None,
    );
    assert_eq!((calls, faults), (vec![call("q2", "3", None, "")], vec![]));
    let blank = self::faults(format!("{head}q1,,,,p\nq2,,,,p\n"));
    assert_eq!(blank.len(), 1, "{blank:?}");
    assert!(
        blank[0].contains("there is no call below the header"),
        "{blank:?}"
    );
}

#[test]
fn a_capture_is_called_once() {
    let sheet = "capture,cylinders\nq1,3\nq1,4\nq2,x\nq2,5\n";
    let (calls, faults) = read("a.csv", sheet.as_bytes(), None);
    assert_eq!(calls, [call("q1", "3", None, "")]);
    assert_eq!(
        faults[0].to_string(),
        "a.csv: line 3, column capture: \"q1\" already stands on line 2; \
         keep one row for each capture; only the first is read"
    );
    assert_eq!(faults.len(), 3, "{faults:#?}");
}

#[test]
fn a_sheet_that_is_none_says_what_it_should_be() {
    for (sheet, part) in [
        (
            &b""[..],
            "a.csv: the call sheet is empty; begin it with the line capture,cylinders",
        ),
        (b" \r\n;;\n", "the call sheet is empty"),
        (
            b"capture,cylinders\n\n",
            "there is no call below the header",
        ),
        (
            b"\xff\xfec\0a\0",
            "the file is in UTF-16; save the sheet as CSV in UTF-8",
        ),
        (b"PK\x03\x04\0\0", "not CSV; save the sheet as CSV"),
        (
            b"capture,cylindres\nq1,3\n",
            "rename the column \"cylindres\" to cylinders",
        ),
        (
            b"q1,3,0.8,x\n",
            "the column capture is missing; begin the sheet with the line",
        ),
        (
            b"capture,cylinders,confidense\nq1,3,0.8\n",
            "rename the column \"confidense\"",
        ),
        (
            b"capture,cylinders,cylinders\nq1,3,4\n",
            "two columns called cylinders",
        ),
        (
            b"capture,cylinders\n\"q1,3\nq2,4\n",
            "line 2: a quotation mark opened in this row",
        ),
        (
            b"\"",
            "line 1: a quotation mark opened in this row is never closed",
        ),
    ] {
        let faults = faults(sheet);
        assert!(faults[0].contains(part), "{faults:?}");
    }
}

#[test]
fn bytes_that_are_no_text_are_faults_of_their_cells() {
    let mut sheet = b"capture,cylinders,note\nq1,3,sp\x81t\nq2,\x004,\nq3,5,".to_vec();
    sheet.extend(vec![b'x'; 5000]);
    sheet.extend(b"\nq\x1b[2J,5,\n");
    let (calls, faults) = read("a.csv", &sheet, None);
    assert_eq!(
        calls,
        [call("q1", "3", None, ""), call("q3", "5", None, "")]
    );
    let faults: Vec<_> = faults.iter().map(Fault::to_string).collect();
    let parts = [
        "a.csv: line 2, column note: \"sp\\u{81}t\" holds the control character U+0081",
        "a.csv: line 3, column cylinders: \"\\04\" holds the control character U+0000",
        "a.csv: line 4, column note: the cell is 5000 bytes long",
        "a.csv: line 5, column capture: \"q\\u{1b}[2J\" holds the control character U+001B",
    ];
    assert_eq!(faults.len(), parts.len(), "{faults:#?}");
    for (fault, part) in faults.iter().zip(parts) {
        assert!(fault.starts_with(part), "{fault}");
    }
}

#[test]
fn a_note_in_windows_1252_does_not_cost_a_call() {
    let sheet = b"sep=;\ncapture;cylinders;note\nq1;3;zu sp\xe4t \x96 90\xb0\nq\xe42;3;\n";
    let (calls, faults) = read("a.csv", sheet, None);
    assert_eq!(calls, [call("q1", "3", None, "zu spät – 90°")]);
    let faults: Vec<_> = faults.iter().map(Fault::to_string).collect();
    assert_eq!(
        faults,
        [
            "a.csv: line 4, column capture: \"q\u{fffd}2\" is not UTF-8; save the sheet as CSV in UTF-8"
        ]
    );
}

#[test]
fn a_decimal_comma_among_commas_is_seen() {
    let sheet = "capture,cylinders,confidence,note\nq1,3,0,8\nq2,3,0,no idea\nq3,3,0,\n";
    let (calls, faults) = read("a.csv", sheet.as_bytes(), None);
    let said: Vec<_> = calls.iter().map(|c| c.confidence).collect();
    assert_eq!(said, [None, Some(0.0), Some(0.0)]);
    assert_eq!(
        faults[0].to_string(),
        "a.csv: line 2, column confidence: \"0,8\" is parted by its comma; \
         write 0.8, or put it in quotation marks"
    );
    assert_eq!(faults.len(), 1);
}

#[test]
fn a_sheet_of_another_pack_is_refused() {
    let sheet = "pack,capture,cylinders\nA1,q1,3\n,q2,3\nb2,q3,3\n";
    let (calls, faults) = read("a.csv", sheet.as_bytes(), Some("a1"));
    assert_eq!(calls, []);
    assert_eq!(
        faults[0].to_string(),
        "a.csv: line 4, column pack: the sheet is of pack \"b2\", the key of a1; \
         grade it with the key of its own pack"
    );
    assert_eq!(faults.len(), 1);
    assert_eq!(read("a.csv", sheet.as_bytes(), None).0.len(), 3);
    let without = "capture,cylinders\nq1,3\n";
    assert_eq!(read("a.csv", without.as_bytes(), Some("a1")).1, []);
}

/// Bytes that look enough like a sheet to get past the header.
fn sheet_like() -> impl Strategy<Value = Vec<u8>> {
    let piece = prop_oneof![
        Just(b",".to_vec()),
        Just(b"\"".to_vec()),
        Just(b"\n".to_vec()),
        Just(b"\r\n".to_vec()),
        Just(b"q1".to_vec()),
        Just(b"2|5".to_vec()),
        Just(b"\0".to_vec()),
        Just(b"\xef\xbb\xbf".to_vec()),
        proptest::collection::vec(any::<u8>(), 0..6),
    ];
    proptest::collection::vec(piece, 0..60).prop_map(|pieces| {
        let mut sheet = b"capture,cylinders,confidence,note\n".to_vec();
        sheet.extend(pieces.concat());
        sheet
    })
}

proptest! {
    #[test]
    fn any_bytes_are_calls_or_faults(bytes in any::<Vec<u8>>()) {
        let (calls, faults) = read("a.csv", &bytes, None);
        prop_assert!(!calls.is_empty() || !faults.is_empty());
    }

    #[test]
    fn any_rows_are_calls_or_faults(sheet in sheet_like()) {
        let (calls, faults) = read("a.csv", &sheet, None);
        prop_assert!(!calls.is_empty() || !faults.is_empty());
    }

    #[test]
    fn what_is_written_is_read_back(
        cylinders in proptest::collection::btree_set(1u32..12, 2..5),
        confidence in 0.0..=1.0f64,
        note in "[a-z,;\"\n ]{0,30}",
    ) {
        let one = Entry {
            confidence: Some(confidence),
            note: note.trim().into(),
            ..Entry::new("q1", Call::OneOf(cylinders.into_iter().collect()))
        };
        let mut writer = csv::WriterBuilder::new().has_headers(false).from_writer(Vec::new());
        writer.write_record(COLUMNS).unwrap();
        writer.serialize(&one).unwrap();
        let sheet = writer.into_inner().unwrap();
        prop_assert_eq!(read("a.csv", &sheet, None), (vec![one], vec![]));
    }
}
