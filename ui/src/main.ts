// Starts the page in the window.
import { mount } from "svelte";
import App from "./App.svelte";
import { tauriBackend } from "./lib/backend/tauri";
import { parse } from "./lib/route.svelte";
import { SCREENS } from "./lib/screens";
import "./styles/tokens.css";
import "./styles/base.css";
import "./styles/parts.css";

const target = document.getElementById("app");
if (target === null) {
  throw new Error("index.html has no element `app`");
}
// The screen is fetched while the catalogue is opened; whether that fails is said where it is shown.
SCREENS[parse(location.hash).screen].load().catch(() => undefined);
mount(App, { target, props: { backend: tauriBackend } });
