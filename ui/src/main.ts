// Starts the page in the window.
import { mount } from "svelte";
import App from "./App.svelte";
import { tauriBackend } from "./lib/backend/tauri";
import "./styles/tokens.css";
import "./styles/base.css";
import "./styles/parts.css";

const target = document.getElementById("app");
if (target === null) {
  throw new Error("index.html has no element `app`");
}
mount(App, { target, props: { backend: tauriBackend } });
