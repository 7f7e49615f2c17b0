// The parts of a crossover: what is sent when a cell is left, what is refused without being lost, and the drawing.
import { cleanup, render, screen, waitFor, within } from "@testing-library/svelte";
import userEvent from "@testing-library/user-event";
import axe from "axe-core";
import { afterEach, beforeEach, expect, it } from "vitest";
import { keptRows } from "../../lib/parts-list";
import type { NetworkReport } from "../../lib/types/NetworkReport";
import type { NetworkRequest } from "../../lib/types/NetworkRequest";
import networkJson from "../../test-fixtures/network.json";
import Network from "./Network.svelte";

const recorded = networkJson as NetworkReport;
const draftKey = `parts of ${recorded.product} A 2025-09-09`;

beforeEach(() => {
  localStorage.clear();
});
afterEach(cleanup);

/** The component on a backend that takes what it is sent, or answers it with `fault`. */
function show(fault?: NetworkReport["faults"][number]) {
  const sent: NetworkRequest[] = [];
  let changed = 0;
  const network = (request: NetworkRequest): Promise<NetworkReport> => {
    sent.push(structuredClone(request));
    if (request.parts === null) return Promise.resolve(structuredClone(recorded));
    const faults = fault ? [fault] : [];
    return Promise.resolve({
      ...structuredClone(recorded),
      parts: request.parts,
      faults,
      recorded: !fault,
      changed: !fault,
    });
  };
  render(Network, {
    backend: { network } as never,
    product: recorded.product,
    specimen: "A",
    date: "2025-09-09",
    onchange: () => (changed += 1),
  });
  return { sent, changes: () => changed };
}

it("lists the parts with an empty row for the next, and draws them", async () => {
  show();
  const name = await screen.findByRole("textbox", { name: "Part, L1" });
  expect(name).toHaveValue("L1");
  expect(screen.getAllByRole("row")).toHaveLength(recorded.parts.length + 2);
  const drawing = screen.getByRole("group", { name: /^Crossover as traced\. 7 parts/ });
  expect(within(drawing).getAllByRole("button")).toHaveLength(7);
  expect(within(drawing).getByRole("button", { name: /^C2: capacitor/ })).toBeInTheDocument();
  // A resistor has no series resistance of its own: no field to type into.
  expect(screen.queryByRole("textbox", { name: "Series resistance, R1" })).toBeNull();
});

it("sends the whole list when a cell is left, once, and says that it is recorded", async () => {
  const user = userEvent.setup();
  const { sent, changes } = show();
  const value = await screen.findByRole("textbox", { name: "Value or driver, R1" });
  await user.clear(value);
  await user.type(value, "0.82 ohm{Tab}");
  await screen.findByText("Recorded.");
  const parts = sent.slice(1).map((it) => it.parts);
  expect(parts).toHaveLength(1);
  expect(parts[0]).toHaveLength(7);
  expect(parts[0]?.find((it) => it.name === "R1")?.value).toBe("0.82 ohm");
  expect(changes()).toBe(1);
});

it("keeps what cannot be solved, beside the fault that names its part", async () => {
  const user = userEvent.setup();
  const message = '"R9" carries no current: nothing else is on its node "q"';
  const { changes } = show({ row: 7, cell: "to", message, accepted: "another part" });
  const name = await screen.findByRole("textbox", { name: "Part, row 8" });
  await user.type(name, "R9{Enter}");
  await screen.findByText(/Not recorded yet/);
  expect(screen.getByText(new RegExp("carries no current"))).toBeInTheDocument();
  expect(changes()).toBe(0);
  expect(keptRows(draftKey)?.at(-1)?.name).toBe("R9");
  await user.click(screen.getByRole("button", { name: "R9, to" }));
  expect(screen.getByRole("textbox", { name: "To, R9" })).toHaveFocus();
  // The window is closed and opened again: the row is still there.
  cleanup();
  show({ row: 7, cell: "to", message, accepted: "another part" });
  expect(await screen.findByRole("textbox", { name: "Part, R9" })).toBeInTheDocument();
  await user.click(screen.getByRole("button", { name: "Go back to what is recorded" }));
  await waitFor(() => {
    expect(screen.queryByRole("textbox", { name: "Part, R9" })).toBeNull();
  });
  expect(keptRows(draftKey)).toBeNull();
});

it("is worked by the keyboard alone", async () => {
  const user = userEvent.setup();
  const { sent } = show();
  const name = await screen.findByRole("textbox", { name: "Part, L1" });
  name.focus();
  await user.keyboard("{ArrowDown}");
  expect(screen.getByRole("textbox", { name: "Part, C1" })).toHaveFocus();
  await user.keyboard("{Control>}{Delete}{/Control}");
  await waitFor(() => {
    expect(sent.at(-1)?.parts?.map((it) => it.name)).not.toContain("C1");
  });
  const first = screen.getByRole("button", { name: /^L1: inductor/ });
  first.focus();
  await user.keyboard("{ArrowRight}");
  expect(screen.getByRole("button", { name: /^C1: capacitor/ })).toHaveFocus();
});

it("has no fault that axe finds", async () => {
  show({ row: 0, cell: "value", message: "cannot read", accepted: "mH" });
  await screen.findByRole("textbox", { name: "Part, L1" });
  const found = await axe.run(document.body, {
    rules: { "color-contrast": { enabled: false }, region: { enabled: false } },
  });
  expect(found.violations.map((it) => it.id)).toEqual([]);
});
