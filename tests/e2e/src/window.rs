//! The window under the driver.

use std::{
    fs,
    future::Future,
    io::{Write, stderr},
    net::{TcpListener, TcpStream},
    path::PathBuf,
    process::{Child, Stdio},
    time::Duration,
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

use crate::{Outcome, Shelf, programs};

/// How long anything may take before the test fails: a loaded machine, not a slow program, sets it.
const PATIENCE: Duration = Duration::from_secs(60);

/// How long the driver has for its first attempt at a session: one in some fifty is never answered, for no reason that could be
/// found in the program.
const FIRST_ATTEMPT: Duration = Duration::from_secs(20);

/// How the window is drawn.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Look {
    /// The system's dark theme.
    pub dark: bool,
    /// Twice the size of everything, as a person with weak sight sets it.
    pub doubled: bool,
}

/// The running window. It is closed, and its driver stopped, when the value goes.
#[derive(Debug)]
pub struct Window {
    driver: Driver,
    client: Client,
}

/// The driver, which ends the window when it ends.
#[derive(Debug)]
struct Driver(Child);

impl Driver {
    /// Whether the program that it started still runs.
    fn has_program(&self) -> bool {
        let id = self.0.id();
        // What the kernel lists as children; one that has ended is a zombie until the driver asks for its status.
        let children = fs::read_to_string(format!("/proc/{id}/task/{id}/children"));
        children.unwrap_or_default().split_whitespace().any(|child| {
            let state = fs::read_to_string(format!("/proc/{child}/status")).unwrap_or_default();
            state.lines().any(|it| it.starts_with("State:") && !it.contains('Z'))
        })
    }
}

impl Drop for Driver {
    fn drop(&mut self) {
        // It may have ended by itself; there is nothing to do about it then.
        drop(self.0.kill());
        drop(self.0.wait());
    }
}

impl Window {
    /// Opens the window on the catalogue of `shelf` and waits until it shows a screen.
    ///
    /// A driver that opens no session on a program that runs is ended, and tried once more; standard error says so.
    ///
    /// # Errors
    /// When the window or the driver is not there, when the program ends, or shows nothing in time.
    pub async fn open(shelf: &Shelf, look: Look) -> Outcome<Self> {
        let window = match Window::attempt(shelf, look, FIRST_ATTEMPT).await? {
            Some(window) => window,
            None => {
                let secs = FIRST_ATTEMPT.as_secs();
                // Not `eprintln`, which a test that passes keeps to itself.
                writeln!(stderr(), "no session after {secs} s on a program that runs: once more")?;
                let again = Window::attempt(shelf, look, PATIENCE).await?;
                again.ok_or("the program runs, and twice the driver opened no session on it")?
            }
        };
        window.find("main h1").await?;
        Ok(window)
    }

    /// The window under a driver of its own; `None` when the driver opens no session in time although the program runs.
    async fn attempt(shelf: &Shelf, look: Look, patience: Duration) -> Outcome<Option<Self>> {
        let app = programs::built("boxworth-app")?;
        let port = TcpListener::bind("127.0.0.1:0")?.local_addr()?.port();
        let driver = start_driver(shelf, look, port).await?;
        let mut wanted = Capabilities::new();
        wanted.insert("browserName".into(), "wry".into());
        let arguments = json!(["--catalogue", shelf.catalogue()]);
        let options = json!({ "binary": app, "args": arguments });
        wanted.insert("webkitgtk:browserOptions".into(), options);
        let address = format!("http://127.0.0.1:{port}");
        let mut builder = ClientBuilder::new(HttpConnector::new());
        let connected = builder.capabilities(wanted).connect(&address);
        match tokio::time::timeout(patience, connected).await {
            Ok(client) => Ok(Some(Window { driver, client: client? })),
            Err(_) if driver.has_program() => Ok(None),
            Err(_) => Err("the program ended before there was a session".into()),
        }
    }

    /// The driver's client, for what has no method here.
    #[must_use]
    pub fn client(&self) -> &Client {
        &self.client
    }

    /// The element, once it is there.
    ///
    /// # Errors
    /// When it does not appear in time.
    pub async fn find(&self, css: &str) -> Outcome<Element> {
        let mut attempts = 0;
        loop {
            let why =
                match self.client.wait().at_most(PATIENCE).for_element(Locator::Css(css)).await {
                    Ok(found) => return Ok(found),
                    Err(why) => why,
                };
            attempts += 1;
            // The page drew another one while the driver was making its handle of the first.
            if attempts == 5 || !why.to_string().contains("Stale element") {
                let shown = self.page("document.body.innerText").await?;
                return Err(format!("{css}: {why}\nThe window shows: {shown}").into());
            }
        }
    }

    /// The text of the element, once it is there.
    ///
    /// # Errors
    /// When it does not appear in time.
    pub async fn text(&self, css: &str) -> Outcome<String> {
        Ok(self.find(css).await?.text().await?)
    }

    /// The value of an expression in the page.
    ///
    /// # Errors
    /// When the page throws.
    pub async fn page(&self, expression: &str) -> Outcome<Value> {
        Ok(self.client.execute(&format!("return ({expression});"), Vec::new()).await?)
    }

    /// Waits until an expression in the page is true.
    ///
    /// # Errors
    /// When it stays false.
    pub async fn until(&self, expression: &str) -> Outcome {
        for _ in 0..600 {
            if self.page(expression).await? == json!(true) {
                return Ok(());
            }
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
        let shown = self.page("document.body.innerText").await?;
        Err(format!("never came true: {expression}\nThe window shows: {shown}").into())
    }

    /// What a command of the window answers; what it refuses is an error.
    ///
    /// # Errors
    /// When the command refuses.
    pub async fn ask(&self, command: &str, request: Value) -> Outcome<Value> {
        let script = "const [command, request, done] = arguments;
            window.__TAURI_INTERNALS__.invoke(command, { request })
                .then((it) => done({ answer: it }), (it) => done({ refusal: it }));";
        let asked = self.client.execute_async(script, vec![json!(command), request]);
        let mut said = in_time(command, asked).await??;
        match said.get_mut("answer") {
            Some(answer) => Ok(answer.take()),
            None => Err(format!("{command}: {said}").into()),
        }
    }

    /// Keys for what has the focus, one after the other.
    ///
    /// # Errors
    /// When the driver cannot send them.
    pub async fn keys(&self, keys: &str) -> Outcome {
        Ok(self.client.active_element().await?.send_keys(keys).await?)
    }

    /// Presses Tab, wherever the focus is: some elements take no keys that are sent to them.
    ///
    /// # Errors
    /// When the driver cannot send it.
    pub async fn tab(&self) -> Outcome {
        let value = Key::Tab.into();
        let actions = KeyActions::new("keyboard".into())
            .then(KeyAction::Down { value })
            .then(KeyAction::Up { value });
        Ok(self.client.perform_actions(actions).await?)
    }

    /// Presses Tab until the focus is on what `css` names: the way of somebody without a pointer.
    ///
    /// # Errors
    /// When it is not reached within 400 stops.
    pub async fn tab_to(&self, css: &str) -> Outcome {
        let there = format!("document.activeElement.matches({})", json!(css));
        for _ in 0..400 {
            self.tab().await?;
            if self.page(&there).await? == json!(true) {
                return Ok(());
            }
        }
        Err(format!("Tab does not lead to {css}").into())
    }

    /// A key held down while another is struck.
    ///
    /// # Errors
    /// When the driver cannot send them.
    pub async fn chord(&self, held: Key, struck: char) -> Outcome {
        let held = held.into();
        let actions = KeyActions::new("keyboard".into())
            .then(KeyAction::Down { value: held })
            .then(KeyAction::Down { value: struck })
            .then(KeyAction::Up { value: struck })
            .then(KeyAction::Up { value: held });
        Ok(self.client.perform_actions(actions).await?)
    }

    /// Goes to the screen that an address such as `#/catalogue` names, and waits for the element.
    ///
    /// # Errors
    /// When the element does not appear in time.
    pub async fn go(&self, address: &str, awaited: &str) -> Outcome {
        self.client.execute("location.hash = arguments[0];", vec![json!(address)]).await?;
        self.find(awaited).await?;
        Ok(())
    }

    /// Gives the page a size, in its own pixels, and waits until it has it.
    ///
    /// # Errors
    /// When the window does not take the size.
    pub async fn resize(&self, width: u32, height: u32) -> Outcome {
        self.client.set_window_size(width, height).await?;
        self.until(&format!("innerWidth === {width}")).await
    }

    /// Writes a picture of what is shown now into the folder for pictures.
    ///
    /// # Errors
    /// When the picture cannot be taken or written.
    pub async fn picture(&self, name: &str) -> Outcome<PathBuf> {
        // Without two frames and a breath the picture is of an earlier frame.
        let settle = "const done = arguments[0];
            requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(done, 200)));";
        in_time("drawing", self.client.execute_async(settle, Vec::new())).await??;
        let picture = in_time("taking a picture", self.client.screenshot()).await??;
        let named = std::env::var_os("BOXWORTH_SHOTS").filter(|it| !it.is_empty());
        let folder = match named {
            Some(folder) => programs::root()?.join(folder),
            None => programs::target()?.join("shots"),
        };
        fs::create_dir_all(&folder)?;
        let path = folder.join(format!("{name}.png"));
        fs::write(&path, picture)?;
        Ok(path)
    }

    /// Closes the window in order. Dropping it also does, but says nothing of a window that has crashed.
    ///
    /// # Errors
    /// When the window is gone already.
    pub async fn close(self) -> Outcome {
        let closed = self.client.close().await;
        drop(self.driver);
        Ok(closed?)
    }
}

/// Starts WebKit's driver and waits until it listens.
async fn start_driver(shelf: &Shelf, look: Look, port: u16) -> Outcome<Driver> {
    let mut command = programs::command("WebKitWebDriver")?;
    command
        .args([&format!("--port={port}"), "--host=127.0.0.1"])
        .env("TAURI_WEBVIEW_AUTOMATION", "true")
        .env("GDK_BACKEND", "x11")
        .env("NO_AT_BRIDGE", "1")
        .env("LANG", "C.UTF-8")
        .env("DBUS_SESSION_BUS_ADDRESS", "disabled:")
        // With either of these, pictures are never done.
        .env_remove("WEBKIT_DISABLE_COMPOSITING_MODE")
        .env_remove("WEBKIT_DISABLE_DMABUF_RENDERER")
        .env("GTK_THEME", if look.dark { "Adwaita:dark" } else { "Adwaita" })
        .env("GDK_SCALE", if look.doubled { "2" } else { "1" })
        .stdout(Stdio::null())
        .stderr(Stdio::null());
    for (name, folder) in [
        ("XDG_DATA_HOME", "data"),
        ("XDG_CONFIG_HOME", "config"),
        ("XDG_CACHE_HOME", "cache"),
        ("XDG_STATE_HOME", "state"),
    ] {
        command.env(name, shelf.folder().join(folder));
    }
    let started = command.spawn();
    let driver =
        started.map_err(|why| format!("WebKitWebDriver (Debian: webkit2gtk-driver): {why}"))?;
    let driver = Driver(driver);
    for _ in 0..200 {
        if TcpStream::connect(("127.0.0.1", port)).is_ok() {
            return Ok(driver);
        }
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
    Err("WebKitWebDriver does not listen".into())
}

async fn in_time<T>(what: &str, work: impl Future<Output = T>) -> Outcome<T> {
    let done = tokio::time::timeout(PATIENCE, work).await;
    done.map_err(|_| format!("{what}: nothing happened for {} s", PATIENCE.as_secs()).into())
}
