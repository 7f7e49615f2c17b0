//! Claims and verdicts are kept in order, for good.

use super::*;
use crate::Info;

fn verdict(word: &str) -> ClaimVerdict {
    ClaimVerdict {
        judged_at: "2026-11-25T10:00:00Z".into(),
        as_of: "2026-11-25".into(),
        verdict: word.into(),
        answer: "{}".into(),
        rubric: "cabinet 3".into(),
        plugins: "[]".into(),
        seed: 0,
        known: Known { action: 2, rubric: 1 },
        causes: vec!["a price of a/b changed".into()],
    }
}

fn claim(statement: &str, replaces: Option<u32>) -> NewClaim {
    NewClaim {
        statement: statement.into(),
        wording: "It is the best.".into(),
        author: "R. Vale".into(),
        made_at: "2026-11-25T10:00:00Z".into(),
        replaces,
    }
}

#[test]
fn claims_keep_all_their_verdicts_and_what_replaced_them() {
    let dir = tempfile::tempdir().unwrap();
    let info = Info {
        title: "Shelf".into(),
        currency: "USD".into(),
        base_month: "2026-06".into(),
        note: String::new(),
    };
    let path = dir.path().join("a.boxworth");
    let mut catalog = Catalog::create(&path, &info).unwrap();
    let first =
        catalog.add_claim(&claim("unbeaten product=a/b", None), &verdict("supported")).unwrap();
    let second = catalog
        .add_claim(&claim("typical product=a/b of=score", Some(first)), &verdict("contradicted"))
        .unwrap();
    assert_eq!((first, second), (1, 2));
    catalog.add_verdicts(&[(second, verdict("not supported"))]).unwrap();
    // A claim has one successor, and a verdict one of five words.
    assert!(catalog.add_claim(&claim("x", Some(first)), &verdict("supported")).is_err());
    assert!(catalog.add_claim(&claim("x", Some(99)), &verdict("supported")).is_err());
    assert!(catalog.add_verdicts(&[(second, verdict("fine"))]).is_err());
    assert!(catalog.add_verdicts(&[(99, verdict("supported"))]).is_err());
    assert!(catalog.withdraw_claim(second, "a slip", "2026-11-26T10:00:00Z").unwrap());
    assert!(!catalog.withdraw_claim(second, "again", "2026-11-26T10:00:00Z").unwrap());
    assert!(!catalog.withdraw_claim(9, "nobody", "2026-11-26T10:00:00Z").unwrap());

    let reader = Reader::open(&path).unwrap();
    let found = reader.claims().unwrap();
    assert_eq!(found.len(), 2);
    assert_eq!(found[0].claim, claim("unbeaten product=a/b", None));
    assert_eq!((found[0].replaced_by, found[0].withdrawn.is_some()), (Some(2), false));
    let words: Vec<&str> = found[1].verdicts.iter().map(|it| it.verdict.as_str()).collect();
    assert_eq!(words, ["contradicted", "not supported"]);
    assert_eq!(found[1].verdicts[0], verdict("contradicted"));
    assert_eq!(found[1].withdrawn.as_ref().unwrap().1, "a slip");
    assert_eq!(reader.known().unwrap(), Known::default());
}

#[test]
fn a_claim_can_neither_be_changed_nor_deleted() {
    let dir = tempfile::tempdir().unwrap();
    let info = Info {
        title: "Shelf".into(),
        currency: "USD".into(),
        base_month: "2026-06".into(),
        note: String::new(),
    };
    let mut catalog = Catalog::create(&dir.path().join("a.boxworth"), &info).unwrap();
    catalog.add_claim(&claim("x", None), &verdict("supported")).unwrap();
    catalog.withdraw_claim(1, "", "2026-11-26T10:00:00Z").unwrap();
    for table in ["claim", "claim_verdict", "claim_withdrawn"] {
        let sql = &catalog.reader.connection;
        let column = if table == "claim" { "author" } else { "claim_id" };
        assert!(sql.execute(&format!("UPDATE {table} SET {column} = 7"), []).is_err(), "{table}");
        assert!(sql.execute(&format!("DELETE FROM {table}"), []).is_err(), "{table}");
    }
}
