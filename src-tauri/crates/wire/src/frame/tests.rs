//! Tests of the frames: round trips, and each way in which a stream can be wrong.

use std::io::Cursor;
use std::path::PathBuf;

use proptest::prelude::*;

use super::{FrameError, MAX_FRAME_BYTES, encode, read, write};
use crate::{Done, Evaluate, FromWorker, Input, Limits, Load, LogLine, Remark, Stage, ToWorker};

fn sample() -> ToWorker {
    ToWorker::Load(Load {
        path: PathBuf::from("plugins/libwall.so"),
        sha256: [7; 32],
        limits: Limits::default(),
    })
}

#[test]
fn messages_come_in_order_then_the_end() {
    let mut stream = Vec::new();
    write(&mut stream, &sample()).unwrap();
    write(&mut stream, &ToWorker::Cancel { job: 3 }).unwrap();
    let mut stream = Cursor::new(stream);
    assert_eq!(read::<ToWorker>(&mut stream).unwrap(), Some(sample()));
    assert_eq!(read::<ToWorker>(&mut stream).unwrap(), Some(ToWorker::Cancel { job: 3 }));
    assert_eq!(read::<ToWorker>(&mut stream).unwrap(), None);
}

#[test]
fn frame_cut_anywhere_is_truncated() {
    let frame = encode(&sample()).unwrap();
    for cut in 1..frame.len() {
        let outcome = read::<ToWorker>(&mut Cursor::new(&frame[..cut]));
        assert!(matches!(outcome, Err(FrameError::Truncated)), "cut at {cut}: {outcome:?}");
    }
}

/// The stream holds four bytes only: a reader that allocated first would ask for 4 GiB here.
#[test]
fn claimed_length_over_the_limit_is_refused() {
    for bytes in [u32::try_from(MAX_FRAME_BYTES).unwrap() + 1, u32::MAX] {
        let outcome = read::<ToWorker>(&mut Cursor::new(bytes.to_le_bytes()));
        assert!(matches!(outcome, Err(FrameError::TooLong { .. })), "{outcome:?}");
    }
}

#[test]
fn message_over_the_limit_is_not_written() {
    let values = vec![0.0; MAX_FRAME_BYTES / 8 + 1];
    let inputs = vec![Input { kind: 1, grid: Vec::new(), values }];
    let params = Vec::new();
    let evaluate = Evaluate {
        job: 1,
        params,
        n_rows: 1,
        n_criteria: 1,
        inputs,
        deadline_ms: 1,
        half: None,
        remarks: true,
    };
    let mut stream = Vec::new();
    let outcome = write(&mut stream, &ToWorker::Evaluate(evaluate));
    assert!(matches!(outcome, Err(FrameError::TooLong { .. })));
    assert!(stream.is_empty());
}

#[test]
fn bytes_that_are_no_message_are_garbage() {
    let mut longer = encode(&sample()).unwrap();
    longer[0] += 1;
    longer.push(0);
    for stream in [longer, vec![1, 0, 0, 0, 99], vec![0, 0, 0, 0]] {
        let outcome = read::<ToWorker>(&mut Cursor::new(&stream));
        assert!(matches!(outcome, Err(FrameError::Garbage { .. })), "{stream:?}: {outcome:?}");
    }
}

proptest! {
    #[test]
    fn any_answer_survives_the_trip(
        job in any::<u64>(),
        status in any::<i32>(),
        bits in prop::collection::vec(any::<u64>(), 0..50),
        row in any::<u32>(),
        text in ".*",
    ) {
        // Bit patterns rather than numbers, so that each kind of NaN is among them.
        let scores: Vec<f64> = bits.iter().map(|&it| f64::from_bits(it)).collect();
        let remarks = vec![Remark { row, code: 1, args: scores.clone() }];
        let log = vec![LogLine { level: 3, text: text.clone() }];
        let done = FromWorker::Done(Done { job, stage: Stage::Evaluate, status, scores, remarks, log });
        let back: FromWorker = read(&mut Cursor::new(encode(&done).unwrap())).unwrap().unwrap();
        let FromWorker::Done(back) = back else { panic!("another message came back") };
        let back_bits: Vec<u64> = back.scores.iter().map(|it| it.to_bits()).collect();
        prop_assert_eq!((back.job, back.status, back_bits), (job, status, bits));
        prop_assert_eq!(&back.log[0].text, &text);
        prop_assert_eq!(back.remarks[0].row, row);
    }

    #[test]
    fn no_bytes_make_the_reader_panic(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        let mut framed = u32::try_from(bytes.len()).unwrap().to_le_bytes().to_vec();
        framed.extend(&bytes);
        // Some bytes are a message by chance; it then encodes to no more than was read.
        if let Ok(Some(message)) = read::<FromWorker>(&mut Cursor::new(framed)) {
            prop_assert!(encode(&message).unwrap().len() <= bytes.len() + 4);
        }
    }
}
