//! Publishing in the real window: an edition, its preview, and the same bytes on the command line.

use std::{
    collections::BTreeMap,
    fs,
    path::{Path, PathBuf},
};

use e2e::{Look, Outcome, Shelf, Window, violations};
use fantoccini::key::Key;

/// All files of a folder and of those in it.
fn files(folder: &Path) -> Outcome<BTreeMap<PathBuf, Vec<u8>>> {
    let mut list = BTreeMap::new();
    for it in fs::read_dir(folder)? {
        let (path, name) = {
            let it = it?;
            (it.path(), PathBuf::from(it.file_name()))
        };
        if path.is_dir() {
            list.extend(files(&path)?.into_iter().map(|(of, content)| (name.join(of), content)));
        } else {
            list.insert(name, fs::read(path)?);
        }
    }
    Ok(list)
}

#[tokio::test]
async fn an_edition_published_in_the_window_comes_out_the_same_on_the_command_line() -> Outcome {
    let shelf = Shelf::seeded()?;
    let claim = "best product=thistlequern/grist-6 of=cabinet band=200..500";
    let _ = shelf.json(&["claims", "add", claim, "--wording", "An invented sentence."])?;
    let window = Window::open(&shelf, Look { dark: false, doubled: false }).await?;
    window.resize(1280, 900).await?;
    window.chord(Key::Alt, '5').await?;
    window
        .until(
            "document.querySelector('iframe')?.srcdoc.includes('Method and disclosure') === true",
        )
        .await?;
    window.find("#title").await?.send_keys("An invented guide").await?;
    let folder = shelf.folder().join("guide");
    let path = folder.to_str().ok_or("a path")?;
    // Ctrl+Enter in the field publishes.
    window.find("#folder").await?.send_keys(&format!("{path}\u{e009}\u{e007}")).await?;
    window
        .until("document.querySelector('.outcome')?.innerText.includes('Edition 1:') === true")
        .await?;
    window.until("document.querySelectorAll('#at-editions ~ * tbody tr').length === 1").await?;
    let _ = window.picture("publish-light").await?;
    assert_eq!(violations(&window).await?, Vec::<String>::new());
    // The next one is stopped by the keys right behind those that start it: they reach it wherever it is by then.
    let before = (shelf.json(&["editions"])?, fs::read(shelf.catalogue())?);
    let stopped = shelf.folder().join("stopped");
    window.find("#title").await?.send_keys(" that is stopped").await?;
    window.find("#folder").await?.clear().await?;
    let typed = stopped.to_str().ok_or("a path")?;
    window.find("#folder").await?.send_keys(&format!("{typed}\u{e009}\u{e007}.")).await?;
    let said = "Stopped. Nothing is kept, and no file was written.";
    window
        .until(&format!(
            "document.querySelector('.outcome')?.innerText.includes('{said}') === true"
        ))
        .await?;
    assert!(!window.text("footer").await?.contains("Publishing"));
    assert_eq!(shelf.json(&["editions"])?, before.0);
    assert!(fs::read(shelf.catalogue())? == before.1, "the catalogue has other bytes");
    assert!(!stopped.exists());
    // What readers open: no violation in a real browser, and headings that a screen reader can walk along.
    window.client().goto(&format!("file://{path}/guide.html")).await?;
    window.until("document.querySelector('h1')?.innerText === 'An invented guide'").await?;
    assert_eq!(violations(&window).await?, Vec::<String>::new(), "the HTML edition");
    let levels = window
        .page("[...document.querySelectorAll('h1,h2,h3,h4')].map(it => +it.tagName[1])")
        .await?;
    let levels: Vec<i64> = serde_json::from_value(levels)?;
    assert_eq!(levels.first(), Some(&1));
    assert!(levels.windows(2).all(|it| it[1] <= it[0] + 1), "{levels:?}");
    let _ = window.picture("edition-html").await?;
    window.close().await?;

    let again = shelf.folder().join("again");
    let again_path = again.to_str().ok_or("a path")?;
    let _ = shelf.json(&["publish", "--edition", "1", "--to", again_path])?;
    let (published, given) = (files(&folder)?, files(&again)?);
    assert_eq!(published.keys().collect::<Vec<_>>(), given.keys().collect::<Vec<_>>());
    assert!(published == given, "the bytes differ");
    let guide = fs::read_to_string(folder.join("guide.md"))?;
    assert!(guide.starts_with("# An invented guide\n"), "{guide:.200}");

    // What changed since shows, in the dark and in a narrow window too.
    let _ = shelf.json(&[
        "record",
        "thistlequern/grist-5",
        "wiring.terminal",
        "spring clip",
        "--reason",
        "a photo",
    ])?;
    for (name, look, width) in [
        ("publish-dark", Look { dark: true, doubled: false }, 1280),
        ("publish-narrow", Look { dark: false, doubled: false }, 640),
    ] {
        let window = Window::open(&shelf, look).await?;
        window.resize(width, 900).await?;
        window.go("#/publish", "iframe").await?;
        window.until("document.querySelectorAll('#at-editions ~ * tbody tr').length === 1").await?;
        // The guide goes on under its title.
        window.until("document.querySelector('#title').value === 'An invented guide'").await?;
        window
            .until(
                "document.querySelector('#at-changes')?.parentElement.innerText
                    .includes('spring clip (inspected), not binding post') === true",
            )
            .await?;
        let _ = window.picture(name).await?;
        assert_eq!(violations(&window).await?, Vec::<String>::new(), "{name}");
        let wide = window.page("document.documentElement.scrollWidth - innerWidth").await?;
        assert!(wide.as_f64().is_some_and(|it| it <= 0.0), "{name} scrolls sideways by {wide}");
        window.close().await?;
    }
    Ok(())
}
