// An answer on demand: asked when it is shown, asked again for another question, and refused in words.
import { cleanup, render, screen, waitFor } from "@testing-library/svelte";
import userEvent from "@testing-library/user-event";
import { createRawSnippet } from "svelte";
import { afterEach, expect, it, vi } from "vitest";
import OnDemand from "./OnDemand.svelte";

const answered = createRawSnippet<[unknown]>((answer) => ({
  render: () => `<p>${String(answer())}</p>`,
}));
const frame = { title: "How firm", answered };

afterEach(() => {
  cleanup();
});

it("asks when it is shown, and says that it computes until the answer is there", async () => {
  let settle: (answer: string) => void = () => undefined;
  const ask = vi.fn(
    () =>
      new Promise<string>((resolve) => {
        settle = resolve;
      }),
  );
  render(OnDemand, { ...frame, question: {}, ask });
  await waitFor(() => {
    expect(ask).toHaveBeenCalledTimes(1);
  });
  expect(screen.getByRole("status")).toHaveTextContent("computing");
  settle("quite firm");
  expect(await screen.findByText("quite firm")).toBeVisible();
  expect(screen.getByRole("status")).toHaveTextContent(/^$/);
});

it("asks anew only for another question", async () => {
  const ask = vi.fn(() => Promise.resolve("firm"));
  const question = {};
  const { rerender } = render(OnDemand, { ...frame, question, ask });
  await screen.findByText("firm");
  await rerender({ question });
  expect(ask).toHaveBeenCalledTimes(1);
  await rerender({ question: {} });
  await waitFor(() => {
    expect(ask).toHaveBeenCalledTimes(2);
  });
});

it("shows the refusal, and asks again when told to", async () => {
  const user = userEvent.setup();
  const fault = { code: "internal", message: "a worker stopped", where: "", accepted: "" };
  const ask = vi.fn<() => Promise<string>>();
  ask.mockRejectedValueOnce(fault).mockResolvedValueOnce("firm after all");
  render(OnDemand, { ...frame, question: {}, ask });
  expect(await screen.findByRole("alert")).toHaveTextContent("a worker stopped");
  await user.click(screen.getByRole("button", { name: "Ask again" }));
  expect(await screen.findByText("firm after all")).toBeVisible();
  expect(screen.queryByRole("alert")).not.toBeInTheDocument();
});
