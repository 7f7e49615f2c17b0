import type { PluginRow } from "./PluginRow";

export type PluginList = { plugins: Array<PluginRow>, };
