// The engine behind the real window.
import { Channel, invoke } from "@tauri-apps/api/core";
import type { Backend } from "./backend";
import type { Command, Commands, Told } from "./commands";

function call<C extends Command>(command: C) {
  return (request: Commands[C]["request"]) => invoke<Commands[C]["answer"]>(command, { request });
}

export const tauriBackend: Backend = {
  attend: ({ menus, hear }) => {
    const channel = new Channel<Told>();
    channel.onmessage = hear;
    return invoke("attend", { request: { menus }, channel });
  },
  announce: call("announce"),
  cancel: call("cancel"),
  recent: call("recent"),
  catalogue_new: call("catalogue_new"),
  catalogue_open: call("catalogue_open"),
  catalogue_seed: call("catalogue_seed"),
  choose: call("choose"),
  import: call("import"),
  status: call("status"),
  products: call("products"),
  notes: call("notes"),
  prices: call("prices"),
  read_price: call("read_price"),
  add_price: call("add_price"),
  withdraw_price: call("withdraw_price"),
  show: call("show"),
  add_product: call("add_product"),
  add_specimen: call("add_specimen"),
  add_teardown: call("add_teardown"),
  bench: call("bench"),
  read_finding: call("read_finding"),
  save_finding: call("save_finding"),
  history: call("history"),
  undo: call("undo"),
  redo: call("redo"),
  band: call("band"),
  bands: call("bands"),
  compare: call("compare"),
  ranks: call("ranks"),
  stability: call("stability"),
  next: call("next"),
  what_if: call("what_if"),
  normal: call("normal"),
  network: call("network"),
  sweep: call("sweep"),
  photos: call("photos"),
  photo: call("photo"),
  add_photo: call("add_photo"),
  edit_photo: call("edit_photo"),
  plugins: call("plugins"),
  judgement: call("judgement"),
  rubric_set: call("rubric_set"),
  rubric_reset: call("rubric_reset"),
  plugin_look: call("plugin_look"),
  plugin_trust: call("plugin_trust"),
  plugin_revoke: call("plugin_revoke"),
  plugin_release: call("plugin_release"),
  plugin_check: call("plugin_check"),
  claim_forms: call("claim_forms"),
  judge_claim: call("judge_claim"),
  claims: call("claims"),
  add_claim: call("add_claim"),
  rejudge_claims: call("rejudge_claims"),
  withdraw_claim: call("withdraw_claim"),
  check_draft: call("check_draft"),
  preview_publication: call("preview_publication"),
  publish: call("publish"),
  reproduce: call("reproduce"),
  editions: call("editions"),
  read_definition: call("read_definition"),
};
