// Strict rules with types. Only one file may know the window's own interface, so that all else can be tested without it.
import js from "@eslint/js";
import svelte from "eslint-plugin-svelte";
import globals from "globals";
import ts from "typescript-eslint";

export default ts.config(
  { ignores: ["dist/", "src/lib/types/", "src/test-fixtures/"] },
  js.configs.recommended,
  ...ts.configs.strictTypeChecked,
  ...svelte.configs.recommended,
  {
    languageOptions: {
      globals: { ...globals.browser },
      parserOptions: { projectService: true, extraFileExtensions: [".svelte"] },
    },
    rules: {
      "@typescript-eslint/no-floating-promises": "error",
      "@typescript-eslint/restrict-template-expressions": ["error", { allowNumber: true }],
      "no-restricted-imports": [
        "error",
        {
          patterns: [
            { group: ["@tauri-apps/*"], message: "only lib/backend/tauri.ts talks to the window" },
            { group: ["**/test-fixtures/*"], message: "fixtures are for tests only" },
          ],
        },
      ],
    },
  },
  {
    files: ["**/*.svelte", "**/*.svelte.ts"],
    languageOptions: { parserOptions: { parser: ts.parser } },
    // The compiler's own check (`svelte-check`) sees these types; the linter does not.
    rules: {
      "@typescript-eslint/no-confusing-void-expression": "off",
      // Naming a state inside an effect makes the effect depend on it.
      "@typescript-eslint/no-meaningless-void-operator": "off",
    },
  },
  { files: ["src/lib/backend/tauri.ts"], rules: { "no-restricted-imports": "off" } },
  { files: ["src/**/*.test.ts", "src/test-answers.ts"], rules: { "no-restricted-imports": "off" } },
  { files: ["*.js"], ...ts.configs.disableTypeChecked },
);
