// Sweeps: what is pasted is read and drawn at once, recorded on demand, and what cannot be read stays in the field.
import { cleanup, render, screen, within } from "@testing-library/svelte";
import userEvent from "@testing-library/user-event";
import axe from "axe-core";
import { afterEach, expect, it } from "vitest";
import type { SweepReport } from "../../lib/types/SweepReport";
import type { SweepRequest } from "../../lib/types/SweepRequest";
import sweepJson from "../../test-fixtures/sweep.json";
import Sweep from "./Sweep.svelte";

const recorded = sweepJson as SweepReport;
const nothing: SweepReport = {
  ...recorded,
  points: 0,
  recorded: false,
  chart: null,
  fit: null,
  recorded_parts: [],
};

afterEach(() => {
  cleanup();
  localStorage.clear();
});

/** The component on a teardown without a sweep, whose texts are answered with `read`. */
async function show(
  read: Partial<SweepReport>,
  first: SweepReport = nothing,
  specimen: string | null = null,
) {
  const sent: SweepRequest[] = [];
  let changed = 0;
  const sweep = (request: SweepRequest): Promise<SweepReport> => {
    sent.push(structuredClone(request));
    if (request.text === null) return Promise.resolve(structuredClone(first));
    const answer = { ...recorded, recorded: request.record, changed: request.record, ...read };
    return Promise.resolve(structuredClone(answer));
  };
  const { rerender } = render(Sweep, {
    backend: { sweep } as never,
    product: recorded.product,
    specimen,
    date: null,
    part: recorded.part,
    points: first.points,
    onchange: () => (changed += 1),
  });
  expect(sent).toEqual([]);
  const turn = screen.getByRole("button", { name: /^Impedance sweep/ });
  await userEvent.setup().click(turn);
  return { sent, changes: () => changed, turn, rerender };
}

it("draws a recorded sweep with its fit and the uncertainties", async () => {
  await show({}, recorded);
  const chart = await screen.findByRole("slider", {
    name: /^Impedance of the woofer\. \d+ points/,
  });
  expect(chart).toHaveAttribute("aria-valuetext", recorded.chart?.panels[0]?.dots[0]?.sentence);
  const table = screen.getByRole("table", { name: /^Fitted: one driver in free air/ });
  expect(within(table).getByRole("row", { name: /^resonance fs .*±.*\sHz$/ })).toBeInTheDocument();
  expect(screen.getByText(/recorded for the teardown of/)).toBeInTheDocument();
});

it("reads what is pasted, and records it only when told", async () => {
  const user = userEvent.setup();
  const remarks = [{ line: 1, text: "frequency converted from kHz to Hz" }];
  const { sent, changes } = await show({ remarks });
  const field = await screen.findByRole("textbox", { name: /^Columns, pasted/ });
  await user.click(field);
  await user.paste("kHz ohm\n0.02 7");
  expect(await screen.findByText(/not recorded yet/)).toBeInTheDocument();
  expect(screen.getByText(/Line 1: frequency converted from kHz/)).toBeInTheDocument();
  expect(sent.at(-1)).toMatchObject({ text: "kHz ohm\n0.02 7", record: false });
  expect(changes()).toBe(0);
  await user.click(screen.getByRole("button", { name: "Record the sweep" }));
  expect(sent.at(-1)).toMatchObject({ text: "kHz ohm\n0.02 7", record: true });
  expect(changes()).toBe(1);
});

it("keeps a text that cannot be read, beside its line and the accepted form", async () => {
  const user = userEvent.setup();
  const faults = [{ line: 3, column: "phase", message: "no number", accepted: "6.28" }];
  await show({ faults, chart: null, fit: null, points: 0 });
  const field = await screen.findByRole("textbox", { name: /^Columns, pasted/ });
  await user.click(field);
  await user.paste("20 7 x");
  expect(await screen.findByText(/Line 3: phase: no number/)).toBeInTheDocument();
  expect(field).toHaveValue("20 7 x");
  expect(screen.queryByRole("button", { name: "Record the sweep" })).toBeNull();
});

it("never records for one specimen what was pasted for another", async () => {
  const user = userEvent.setup();
  const { sent, rerender } = await show({}, nothing, "A");
  await user.click(await screen.findByRole("textbox", { name: /^Columns, pasted/ }));
  await user.paste("20 7");
  await screen.findByRole("button", { name: "Record the sweep" });
  await rerender({ specimen: "B" });
  expect(await screen.findByRole("textbox", { name: /^Columns, pasted/ })).toHaveValue("");
  expect(screen.queryByRole("button", { name: "Record the sweep" })).toBeNull();
  expect(sent.at(-1)).toMatchObject({ specimen: "B", text: null });
  // It waits where it belongs.
  await rerender({ specimen: "A" });
  await user.click(await screen.findByRole("button", { name: "Record the sweep" }));
  expect(sent.at(-1)).toMatchObject({ specimen: "A", text: "20 7", record: true });
});

it("goes from point to point by the keyboard", async () => {
  const user = userEvent.setup();
  await show({}, recorded);
  const chart = await screen.findByRole("slider");
  chart.focus();
  await user.keyboard("{ArrowRight}{ArrowRight}");
  expect(chart).toHaveAttribute("aria-valuetext", recorded.chart?.panels[0]?.dots[2]?.sentence);
  await user.keyboard("{PageDown}");
  expect(chart).toHaveAttribute("aria-valuetext", recorded.chart?.panels[1]?.dots[2]?.sentence);
});

it("has the points as a table, and no fault that axe finds", async () => {
  await show({}, recorded);
  await screen.findByRole("slider");
  await userEvent.setup().click(screen.getByText("The points as a table"));
  const panel = recorded.chart?.panels[0];
  const rows = within(
    await screen.findByRole("table", { name: panel?.y.title ?? "no panel" }),
  ).getAllByRole("row");
  expect(rows).toHaveLength((panel?.dots.length ?? NaN) + 1);
  const found = await axe.run(document.body, {
    rules: { "color-contrast": { enabled: false }, region: { enabled: false } },
  });
  expect(found.violations.map((it) => it.id)).toEqual([]);
});
