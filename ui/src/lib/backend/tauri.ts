// The engine behind the real window.
import { invoke } from "@tauri-apps/api/core";
import type { Backend } from "./backend";
import type { Command, Commands } from "./commands";

function call<C extends Command>(command: C) {
  return (request: Commands[C]["request"]) => invoke<Commands[C]["answer"]>(command, { request });
}

export const tauriBackend: Backend = {
  status: call("status"),
  products: call("products"),
  show: call("show"),
  band: call("band"),
  plugins: call("plugins"),
};
