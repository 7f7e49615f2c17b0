//! One window with its driver, from start to end.

use std::{
    net::{Ipv4Addr, TcpListener, TcpStream},
    path::PathBuf,
    process::{Child, Stdio},
    time::{Duration, Instant},
};

use fantoccini::{
    Client, ClientBuilder, Locator,
    actions::{InputSource, KeyAction, KeyActions},
    elements::Element,
    key::Key,
    wd::Capabilities,
};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::{Value, json};
use tokio::time::{sleep, timeout};

use crate::{Outcome, Shelf, programs};

/// How long anything on the screen may take before the test fails. Two busy cores make scoring slow.
const PATIENCE: Duration = Duration::from_secs(40);
const PAUSE: Duration = Duration::from_millis(50);

/// The desktop that the window starts on.
#[derive(Debug, Clone, Copy, Default)]
pub struct Look {
    /// Light text on dark paper.
    pub dark: bool,
    /// Each pixel of the page takes two by two of the screen, as at a zoom of 200 percent.
    pub doubled: bool,
}

/// The window of a shelf's catalogue, driven from outside. It ends with its value.
#[derive(Debug)]
pub struct Window {
    client: Client,
    driver: Driver,
}

/// The driver's process; it ends the window that it started when it ends.
#[derive(Debug)]
struct Driver(Child);

impl Drop for Driver {
    fn drop(&mut self) {
        // A process that is gone already is what is wanted.
        drop(self.0.kill());
        drop(self.0.wait());
    }
}

impl Window {
    /// Opens the window and waits for the heading of its first screen.
    ///
    /// # Errors
    /// When the programs are not built, or driver or window do not start.
    pub async fn open(shelf: &Shelf, look: Look) -> Outcome<Self> {
        let app = programs::built("boxworth-app")?;
        let port = TcpListener::bind((Ipv4Addr::LOCALHOST, 0))?.local_addr()?.port();
        let driver = start_driver(shelf, look, port).await?;
        let mut wanted = Capabilities::new();
        wanted.insert("browserName".into(), "wry".into());
        let arguments = ["--catalogue".into(), shelf.catalogue().display().to_string()];
        wanted.insert(
            "webkitgtk:browserOptions".into(),
            json!({ "binary": app.canonicalize()?, "args": arguments }),
        );
        let mut builder = ClientBuilder::new(HttpConnector::new());
        let address = format!("http://127.0.0.1:{port}");
        let client = timeout(PATIENCE, builder.capabilities(wanted).connect(&address)).await??;
        let window = Window { client, driver };
        window.find("main h1").await?;
        Ok(window)
    }

    /// Ends the session and the window.
    ///
    /// # Errors
    /// When the session had ended before, as when the window crashed.
    pub async fn close(self) -> Outcome {
        let Window { client, driver } = self;
        timeout(PATIENCE, client.close()).await??;
        drop(driver);
        Ok(())
    }

    /// The session, for what has no method here.
    #[must_use]
    pub fn client(&self) -> &Client {
        &self.client
    }

    /// The first element that a selector meets, once it is there.
    ///
    /// # Errors
    /// When it does not come.
    pub async fn find(&self, selector: &str) -> Outcome<Element> {
        let found = self.client.wait().at_most(PATIENCE).for_element(Locator::Css(selector)).await;
        Ok(found.map_err(|why| format!("no element `{selector}`: {why}"))?)
    }

    /// The text of the first element that a selector meets, as it is drawn.
    ///
    /// # Errors
    /// When it does not come.
    pub async fn text(&self, selector: &str) -> Outcome<String> {
        Ok(self.find(selector).await?.text().await?)
    }

    /// The value of an expression in the page.
    ///
    /// # Errors
    /// When it throws.
    pub async fn page(&self, expression: &str) -> Outcome<Value> {
        Ok(self.client.execute(&format!("return {expression}"), Vec::new()).await?)
    }

    /// Waits until an expression in the page is true.
    ///
    /// # Errors
    /// When it stays false.
    pub async fn until(&self, expression: &str) -> Outcome {
        let start = Instant::now();
        while self.page(expression).await? != json!(true) {
            if start.elapsed() > PATIENCE {
                return Err(format!("never true: {expression}").into());
            }
            sleep(PAUSE).await;
        }
        Ok(())
    }

    /// Goes to a screen by its address and waits for an element of it.
    ///
    /// # Errors
    /// When the element does not come.
    pub async fn go(&self, address: &str, awaited: &str) -> Outcome {
        self.page(&format!("location.hash = {}", json!(address))).await?;
        self.find(awaited).await?;
        Ok(())
    }

    /// Calls a command of the window, as the page does.
    ///
    /// # Errors
    /// When the window refuses, with its fault as text.
    pub async fn ask(&self, command: &str, request: Value) -> Outcome<Value> {
        let script = "const [command, request, done] = arguments;
            window.__TAURI_INTERNALS__.invoke(command, { request }).then(
                (answer) => done({ answer }),
                (refused) => done({ refused }));";
        let call = self.client.execute_async(script, vec![command.into(), request]);
        let mut outcome = timeout(PATIENCE, call).await??;
        match outcome.get("refused") {
            Some(why) => Err(format!("`{command}` is refused: {why}").into()),
            None => Ok(outcome["answer"].take()),
        }
    }

    /// Types into what has the focus.
    ///
    /// # Errors
    /// When nothing takes it.
    pub async fn keys(&self, keys: &str) -> Outcome {
        Ok(self.client.active_element().await?.send_keys(keys).await?)
    }

    /// Presses a key while another is held.
    ///
    /// # Errors
    /// When the driver refuses.
    pub async fn chord(&self, held: Key, key: char) -> Outcome {
        let actions = KeyActions::new("keyboard".into())
            .then(KeyAction::Down { value: held.into() })
            .then(KeyAction::Down { value: key })
            .then(KeyAction::Up { value: key })
            .then(KeyAction::Up { value: held.into() });
        Ok(self.client.perform_actions(actions).await?)
    }

    /// Makes the window as large as told, in pixels of the page.
    ///
    /// # Errors
    /// When the window does not become that wide.
    pub async fn resize(&self, width: u32, height: u32) -> Outcome {
        self.client.set_window_size(width, height).await?;
        self.until(&format!("innerWidth === {width}")).await
    }

    /// Writes what the window shows to `<name>.png` in `BOXWORTH_SHOTS`, or in `target/shots`.
    ///
    /// # Errors
    /// When no picture is made or it cannot be written.
    pub async fn picture(&self, name: &str) -> Outcome<PathBuf> {
        // Without this the picture is of a frame before the last change.
        let settle = "const [done] = arguments;
            requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(done, 200)));";
        timeout(PATIENCE, self.client.execute_async(settle, Vec::new())).await??;
        let png = timeout(PATIENCE, self.client.screenshot()).await??;
        let folder = match std::env::var_os("BOXWORTH_SHOTS") {
            Some(named) => programs::root()?.join(named),
            None => programs::target()?.join("shots"),
        };
        std::fs::create_dir_all(&folder)?;
        let path = folder.join(format!("{name}.png"));
        std::fs::write(&path, png)?;
        Ok(path)
    }
}

async fn start_driver(shelf: &Shelf, look: Look, port: u16) -> Outcome<Driver> {
    let mut driver = programs::command("WebKitWebDriver")?;
    driver.args([format!("--port={port}"), "--host=127.0.0.1".into()]);
    driver.env("TAURI_WEBVIEW_AUTOMATION", "true").env("GDK_BACKEND", "x11");
    // No screen reader and no session bus: nothing of the user's desktop takes part.
    driver.env("NO_AT_BRIDGE", "1").env("DBUS_SESSION_BUS_ADDRESS", "disabled:");
    driver.env("LANG", "C.UTF-8");
    driver.env("GTK_THEME", if look.dark { "Adwaita:dark" } else { "Adwaita" });
    driver.env("GDK_SCALE", if look.doubled { "2" } else { "1" });
    // With these two, pictures of the window never come.
    driver.env_remove("WEBKIT_DISABLE_COMPOSITING_MODE");
    driver.env_remove("WEBKIT_DISABLE_DMABUF_RENDERER");
    for kind in ["DATA", "CONFIG", "CACHE", "STATE"] {
        driver.env(format!("XDG_{kind}_HOME"), shelf.folder().join(kind.to_lowercase()));
    }
    let child = driver.stdout(Stdio::null()).spawn().map_err(|why| {
        format!("WebKitWebDriver: {why}; on Debian it is in the package webkit2gtk-driver")
    })?;
    let driver = Driver(child);
    for _ in 0..100 {
        if TcpStream::connect((Ipv4Addr::LOCALHOST, port)).is_ok() {
            return Ok(driver);
        }
        sleep(PAUSE).await;
    }
    Err(format!("WebKitWebDriver does not listen on port {port}").into())
}
