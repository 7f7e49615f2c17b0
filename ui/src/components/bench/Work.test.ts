// A product on the bench, used by keyboard, on an answer of the real engine.
import { cleanup, render, screen, waitFor, within } from "@testing-library/svelte";
import userEvent, { type UserEvent } from "@testing-library/user-event";
import axe from "axe-core";
import { afterEach, expect, it } from "vitest";
import type { Backend } from "../../lib/backend/backend";
import { memoryBackend, type Answers, type Call } from "../../lib/backend/memory";
import { dropped } from "../../lib/drops.svelte";
import { hush, said } from "../../lib/say.svelte";
import benchJson from "../../test-fixtures/bench.json";
import networkJson from "../../test-fixtures/network.json";
import sweepJson from "../../test-fixtures/sweep.json";
import type { BenchEcho } from "../../lib/types/BenchEcho";
import type { BenchReport } from "../../lib/types/BenchReport";
import type { BenchRow } from "../../lib/types/BenchRow";
import type { BenchSaveRequest } from "../../lib/types/BenchSaveRequest";
import type { NetworkReport } from "../../lib/types/NetworkReport";
import type { SweepReport } from "../../lib/types/SweepReport";
import Work from "./Work.svelte";

const report: BenchReport = benchJson;
const network: NetworkReport = networkJson;
const sweep: SweepReport = {
  ...(sweepJson as SweepReport),
  points: 0,
  recorded: false,
  chart: null,
  fit: null,
  recorded_parts: [],
};
const MASS = "whole.mass_each";

/** The report with a row changed. */
function edited(of: BenchReport, address: string, changes: Partial<BenchRow>): BenchReport {
  const rows = (list: BenchRow[]) =>
    list.map((it) => (it.address === address && it.place === "found" ? { ...it, ...changes } : it));
  return { ...of, parts: of.parts.map((part) => ({ ...part, rows: rows(part.rows) })) };
}

/** The bench with nothing recorded of the mass. */
const empty = edited(report, MASS, {
  state: "open",
  typed: "",
  si: "",
  note: "",
  evidence: "measured",
});

const echo: BenchEcho = {
  address: MASS,
  typed: "",
  value: "",
  understood: true,
  state: "value",
  unit: "kg",
  shown: "62.4 kg",
  si: "62.4 kg",
  remarks: ["62.4 kg is outside what is usual, 2 to 25 kg; recorded all the same"],
  fault: "",
  accepted: "",
};

/** Saves as the engine does, as far as a screen can tell. */
function opened(first: BenchReport, own: Partial<Backend> = {}): Call[] {
  let now = first;
  const saves: Partial<Backend> = {
    bench: () => Promise.resolve(now),
    photos: () =>
      Promise.resolve({
        product: now.product,
        photos: [],
        folder: "shelf.boxworth.photos",
        accepted: "a JPEG, PNG or WebP picture",
        most_bytes: 40 * 1024 * 1024,
      }),
    read_finding: ({ value }) => Promise.resolve({ ...echo, typed: value, value }),
    save_finding: ({ finding, value, evidence, note }: BenchSaveRequest) => {
      const was = now.parts.flatMap((it) => it.rows).find((it) => it.address === finding);
      if (value === "wrong") {
        // eslint-disable-next-line @typescript-eslint/prefer-promise-reject-errors -- as the window rejects
        return Promise.reject({
          code: "bad_request",
          message: "no number at the start",
          where: "finding",
          accepted: "kg, g, lb",
        });
      }
      const typed = value ?? was?.typed ?? "";
      now = edited(now, finding, {
        typed,
        state: typed === "" ? "open" : "value",
        evidence: evidence ?? was?.evidence ?? "measured",
        note: note ?? was?.note ?? "",
      });
      return Promise.resolve({
        before: null,
        after: typed,
        changed: true,
        place: "found",
        bench: now,
      });
    },
    ...own,
  };
  const calls: Call[] = [];
  const backend = memoryBackend({ own: saves, network, sweep } as Answers, calls);
  render(Work, { backend, product: report.product, specimen: report.specimen, date: report.date });
  return calls;
}

const saves = (calls: Call[]) =>
  calls.filter((it) => it.command === "save_finding").map((it) => it.request as BenchSaveRequest);

async function mass(): Promise<HTMLElement> {
  return screen.findByRole("textbox", { name: "whole, mass, one speaker" });
}

async function typed(user: UserEvent, keys: string): Promise<void> {
  (await mass()).focus();
  await user.keyboard(keys);
}

afterEach(() => {
  cleanup();
  hush();
  localStorage.clear();
});

it("saves value, evidence and note one by one as each is left, by keyboard alone", async () => {
  const user = userEvent.setup();
  const calls = opened(empty);
  await typed(user, "14 lb 2 oz");
  await user.tab();
  await waitFor(() => {
    expect(saves(calls)).toHaveLength(1);
  });
  expect(saves(calls)[0]).toMatchObject({
    finding: MASS,
    value: "14 lb 2 oz",
    evidence: null,
    note: null,
  });
  expect(screen.getByRole("combobox", { name: /How whole, mass/ })).toHaveFocus();
  await user.keyboard("k");
  await waitFor(() => {
    expect(saves(calls)).toHaveLength(2);
  });
  expect(saves(calls)[1]).toMatchObject({ value: null, evidence: "marked", note: null });
  await user.tab();
  await user.keyboard("bathroom scale{Enter}");
  await waitFor(() => {
    expect(saves(calls)).toHaveLength(3);
  });
  expect(saves(calls)[2]).toMatchObject({ value: null, evidence: null, note: "bathroom scale" });
  // The next row has the focus, and leaving it untouched saves nothing.
  expect(document.activeElement).toHaveAttribute("data-cell", "value");
  expect(document.activeElement).not.toBe(await mass());
  await user.keyboard("{ArrowDown}{ArrowUp}{PageDown}");
  expect(saves(calls)).toHaveLength(3);
  await waitFor(() => {
    expect(said.note).toMatch(/^Saved: whole, mass/);
  });
});

it("goes on to the next row from one in which nothing is typed", async () => {
  const user = userEvent.setup();
  const cabinet = report.parts.find((it) => it.part === "cabinet");
  const [first, second] = cabinet?.rows.map((it) => it.address) ?? [];
  if (first === undefined || second === undefined) throw new Error("the cabinet has two rows");
  opened(edited(report, first, { state: "open", typed: "", si: "", note: "" }));
  await mass();
  document.getElementById(`bench-value-${first}`)?.focus();
  await user.tab();
  expect(document.activeElement).toHaveAttribute("id", `bench-value-${second}`);
});

it("has a sweep below each part that has an impedance, and goes there when it is left to find", async () => {
  const user = userEvent.setup();
  const left = { ...report.left[0], address: "woofer.sweep", what: "woofer, impedance sweep" };
  opened({ ...report, left: [left as BenchReport["left"][number]] });
  await mass();
  const swept = report.parts.filter((it) => it.sweep !== null).length;
  expect(screen.getAllByRole("button", { name: /^Impedance sweep/ })).toHaveLength(swept);
  await user.keyboard("{Alt>}n{/Alt}");
  expect(document.activeElement?.closest("#sweep-woofer")).not.toBeNull();
  expect(document.activeElement).toHaveAccessibleName("Impedance sweep none yet");
});

it("warns outside the usual range while somebody types, and blocks nothing", async () => {
  const user = userEvent.setup();
  const calls = opened(empty);
  await typed(user, "62.4 kg");
  expect(await screen.findByText(/outside what is usual/)).toBeVisible();
  expect(screen.queryByRole("alert")).toBeNull();
  await user.keyboard("{Enter}");
  await waitFor(() => {
    expect(saves(calls)).toHaveLength(1);
  });
});

it("keeps what is not understood as typed, says what is accepted, and saves it once it is mended", async () => {
  const user = userEvent.setup();
  const calls = opened(empty);
  await typed(user, "wrong");
  await user.tab();
  expect(await screen.findByRole("alert")).toHaveTextContent(
    "Not saved: no number at the start. Accepted: kg, g, lb",
  );
  expect(await mass()).toHaveValue("wrong");
  expect(await mass()).toHaveAttribute("aria-invalid", "true");
  // Evidence of what was refused is not sent alone.
  await user.keyboard("k");
  expect(saves(calls)).toHaveLength(1);
  (await mass()).focus();
  await user.clear(await mass());
  await user.keyboard("6.4 kg{Enter}");
  await waitFor(() => {
    expect(saves(calls)).toHaveLength(2);
  });
  expect(saves(calls)[1]).toMatchObject({ value: "6.4 kg", evidence: "marked" });
  await waitFor(() => {
    expect(screen.queryByRole("alert")).toBeNull();
  });
});

it("asks why a value is corrected, in the same breath", async () => {
  const user = userEvent.setup();
  const calls = opened(edited(report, MASS, { state: "value", typed: "6.4 kg" }));
  await user.clear(await mass());
  await typed(user, "6.6 kg");
  await user.tab();
  expect(screen.getByRole("textbox", { name: /^Why whole, mass/ })).toHaveFocus();
  expect(saves(calls)).toHaveLength(0);
  await user.keyboard("scale was not level{Enter}");
  await waitFor(() => {
    expect(saves(calls)).toHaveLength(1);
  });
  expect(saves(calls)[0]).toMatchObject({ value: "6.6 kg", reason: "scale was not level" });
});

it("gives up a draft on Escape", async () => {
  const user = userEvent.setup();
  const calls = opened(edited(report, MASS, { state: "value", typed: "6.4 kg" }));
  await typed(user, "9{Escape}");
  expect(await mass()).toHaveValue("6.4 kg");
  await user.keyboard("{Enter}");
  expect(saves(calls)).toHaveLength(0);
});

it("takes back and does again by key, and goes to what changed", async () => {
  const user = userEvent.setup();
  const step = (text: string) => ({
    action: "record",
    product: report.product,
    text,
    changes: [{ what: MASS, before: "6.4 kg (measured)", after: null }],
    allowed: true,
  });
  const calls = opened(
    { ...empty, undo: step("Undo mass"), redo: step("Redo mass") },
    {
      undo: () => Promise.resolve({ action: "record", at: "", reason: "", changes: 1 }),
      redo: () => Promise.resolve({ action: "record", at: "", reason: "", changes: 1 }),
    },
  );
  await mass();
  await user.keyboard("{Control>}z{/Control}");
  await waitFor(() => {
    expect(calls.some((it) => it.command === "undo")).toBe(true);
  });
  await waitFor(async () => {
    expect(await mass()).toHaveFocus();
  });
  expect(said.note).toBe("Taken back: mass.");
  await user.keyboard("{Control>}{Shift>}z{/Shift}{/Control}");
  await waitFor(() => {
    expect(calls.some((it) => it.command === "redo")).toBe(true);
  });
});

it("leaves taking back what is typed into the text of a sweep to its field", async () => {
  const user = userEvent.setup();
  const undo = {
    action: "record",
    product: report.product,
    text: "Undo mass",
    changes: [{ what: MASS, before: "6.4 kg (measured)", after: null }],
    allowed: true,
  };
  const calls = opened(
    { ...empty, undo },
    {
      undo: () => Promise.resolve({ action: "record", at: "", reason: "", changes: 1 }),
    },
  );
  await mass();
  const [turn] = screen.getAllByRole("button", { name: /^Impedance sweep/ });
  await user.click(turn as HTMLElement);
  await user.click(await screen.findByRole("textbox", { name: /^Columns, pasted/ }));
  await user.keyboard("20 7{Control>}z{/Control}{Control>}y{/Control}");
  const undone = () => calls.filter((it) => it.command === "undo" || it.command === "redo");
  expect(undone()).toHaveLength(0);
  // The same key beside the field does take back.
  (turn as HTMLElement).focus();
  await user.keyboard("{Control>}z{/Control}");
  await waitFor(() => {
    expect(undone()).toHaveLength(1);
  });
});

it("says what it takes when another file than a picture is dropped, and leaves folders to the import", async () => {
  opened(report);
  await mass();
  expect(dropped([{ path: "/somewhere/woofer.zma", is_folder: false }])).toBe(true);
  expect(said.faults.map((it) => it.fault.message)).toEqual([
    "Only pictures are taken by dropping here; a sweep is picked or pasted below its part",
  ]);
  for (const path of ["/somewhere/teardowns", "/somewhere/teardowns.2026"])
    expect(dropped([{ path, is_folder: true }])).toBe(false);
  expect(said.faults).toHaveLength(1);
});

it("does not take a whole import back", async () => {
  const user = userEvent.setup();
  const calls = opened(report);
  await mass();
  expect(report.undo?.action).toBe("import");
  expect(screen.getByRole("button", { name: /^Undo/ })).toBeDisabled();
  await user.keyboard("{Control>}z{/Control}");
  await waitFor(() => {
    expect(said.note).toContain("boxworth undo");
  });
  expect(calls.some((it) => it.command === "undo")).toBe(false);
});

it("leads to what is worth finding next, or to the part that it belongs to", async () => {
  const user = userEvent.setup();
  opened(report);
  await mass();
  const [first, second] = report.left;
  const list = screen.getByRole("region", { name: /^Left to find/ });
  const buttons = within(list).getAllByRole("button");
  expect(buttons[0]).toHaveTextContent(first?.what ?? "nothing is left");
  // The parts list is no row of the grid.
  expect(first?.address).toBe("crossover.parts");
  await user.keyboard("{Alt>}n{/Alt}");
  expect(document.activeElement).toHaveAttribute("id", "part-crossover");
  buttons[0]?.focus();
  await user.keyboard("{ArrowDown}{Enter}");
  const row = document.activeElement?.closest<HTMLElement>("[data-row]");
  expect(row?.dataset.row).toBe(second?.address);
});

it("brings rows for a further driver that differs, and goes there", async () => {
  const user = userEvent.setup();
  const woofer = report.parts.find((it) => it.part === "woofer");
  if (!woofer) throw new Error("the fixture has a woofer");
  const second = {
    ...woofer,
    part: "woofer2",
    rows: woofer.rows.map((it) => ({ ...it, address: it.address.replace("woofer.", "woofer2.") })),
  };
  opened(report, {
    bench: ({ parts }) =>
      Promise.resolve(
        parts.includes("woofer2") ? { ...report, parts: [...report.parts, second] } : report,
      ),
  });
  await user.click(await screen.findByRole("button", { name: "Another woofer that differs" }));
  await waitFor(() => {
    const row = document.activeElement?.closest<HTMLElement>("tr[data-row]");
    expect(row?.dataset.row).toBe(second.rows[0]?.address);
  });
});

it("shows what a plugin asks for under its name, and locks what nobody can read", async () => {
  const finish = {
    ...(report.parts[1]?.rows[0] as BenchRow),
    address: "cabinet.org.example.finish.surface",
    label: "surface",
    plugin: "Finish",
    expected: false,
  };
  const stale = {
    ...finish,
    address: "cabinet.org.example.gone.x",
    label: "x",
    locked: "recorded for org.example.gone, which is not trusted here",
  };
  opened({
    ...report,
    parts: report.parts.map((part, at) =>
      at === 1 ? { ...part, rows: [...part.rows, finish, stale] } : part,
    ),
  });
  await mass();
  expect(screen.getByRole("row", { name: /surface/ })).toHaveTextContent("Finish");
  expect(screen.getByRole("textbox", { name: "cabinet, x" })).toHaveAttribute("readonly");
});

it("breaks no rule that can be told without layout", async () => {
  opened(report);
  (await mass()).focus();
  const broken = await axe.run(document.body, {
    rules: { "color-contrast": { enabled: false }, region: { enabled: false } },
  });
  expect(
    broken.violations.map((it) => `${it.id}: ${it.nodes.map((node) => node.html).join(" ")}`),
  ).toEqual([]);
});
