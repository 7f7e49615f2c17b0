// The screen asks for what its fields say, and shows what came of it.
import { render, screen } from "@testing-library/svelte";
import userEvent from "@testing-library/user-event";
import { expect, test } from "vitest";
import { memoryBackend, type Answers, type Call } from "../lib/backend/memory";
import { keeper } from "../lib/kept.svelte";
import { moved } from "../lib/publish";
import type { Definition } from "../lib/types/Definition";
import { OPEN } from "../test-answers";
import products from "../test-fixtures/products.json";
import StatusLine from "../components/StatusLine.svelte";
import { reached, stopWork } from "../lib/work.svelte";
import Publish from "./Publish.svelte";

const definition: Definition = {
  title: "",
  author: "",
  products: [],
  columns: ["price", "cabinet.wall_damping"],
  units: "bench",
  intervals: true,
  evidence: true,
  charts: true,
  claims: true,
  sheets: true,
  disclosure: {
    chosen: "",
    market: "",
    known: "",
    left_out: "",
    bought: "",
    instruments: "",
    tax_and_shipping: "",
    paid_by: "",
    gifts: "",
    affiliate: "",
  },
};

// The least that the screen reads; the other screens' answers are not asked for.
const answers = {
  preview_publication: {
    html: "<p>page</p>",
    definition,
    definition_text: 'title = ""\n',
    changes: null,
    formats: ["md", "pdf"],
    columns: [{ id: "price", label: "Price" }],
    products: [{ id: "a/b", label: "A B" }],
    remarks: [],
  },
  publication: {
    edition: 3,
    is_new: true,
    title: "Guide",
    folder: "/tmp/guide",
    files: [{ name: "guide.md", format: "md", bytes: 10, sha256: "0".repeat(64) }],
    changes: null,
    remarks: [],
  },
  editions: { editions: [] },
} as unknown as Answers;

test("an edition is published with the title and the folder that were typed", async () => {
  const calls: Call[] = [];
  const user = userEvent.setup();
  render(Publish, {
    backend: memoryBackend(answers, calls),
    status: OPEN,
    list: products,
    route: { screen: "publish" },
    keep: keeper(),
    back: { screen: "band" },
  });
  await user.type(await screen.findByLabelText("Title"), "My guide");
  await user.type(screen.getByLabelText("Folder"), "/tmp/guide{Control>}{Enter}{/Control}");
  expect(await screen.findByText(/Edition 3: 1 file/)).toBeInTheDocument();
  const call = calls.find((it) => it.command === "publish");
  expect(call?.request).toMatchObject({
    what: {
      to: "/tmp/guide",
      draft: false,
      formats: [],
      definition: { title: "My guide", columns: ["price", "cabinet.wall_damping"] },
    },
  });
  expect(screen.getByTitle("Preview of the publication")).toHaveAttribute("sandbox", "");
});

test("an edition that takes long says what is done, and is stopped by Ctrl and the full stop", async () => {
  const calls: Call[] = [];
  const user = userEvent.setup();
  const memory = memoryBackend(answers, calls);
  let refuse: (why: unknown) => void = () => undefined;
  const backend = {
    ...memory,
    publish: ({ work }: { work: number }) => {
      reached(work, 50, 100, "claim 2 of 5");
      return new Promise<never>((_, reject) => (refuse = reject));
    },
  };
  render(Publish, {
    backend,
    status: OPEN,
    list: products,
    route: { screen: "publish" },
    keep: keeper(),
    back: { screen: "band" },
  });
  render(StatusLine);
  const button = await screen.findByRole("button", { name: "Publish an edition" });
  await user.click(button);
  expect(await screen.findByText("claim 2 of 5")).toBeInTheDocument();
  expect(screen.getByRole("progressbar", { name: "Publishing" })).toHaveValue(0.5);
  stopWork();
  expect(await screen.findByText(/Stopping/)).toBeInTheDocument();
  expect(calls.some((it) => it.command === "cancel")).toBe(true);
  refuse({ code: "stopped", message: "stopped", where: "", accepted: "" });
  expect(await screen.findByText(/Nothing is kept, and no file was written/)).toBeInTheDocument();
  expect(screen.queryByRole("progressbar")).not.toBeInTheDocument();
  expect(screen.queryByRole("alert")).not.toBeInTheDocument();
  expect(button).toHaveFocus();
});

test("a column moves by one place and never out of the list", () => {
  expect(moved(["a", "b", "c"], 2, -1)).toEqual(["a", "c", "b"]);
  expect(moved(["a", "b"], 0, -1)).toEqual(["a", "b"]);
  expect(moved(["a", "b"], 1, 1)).toEqual(["a", "b"]);
});
