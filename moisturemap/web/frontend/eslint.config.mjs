import js from "@eslint/js";
import tseslint from "typescript-eslint";

const PLAIN = ["console", "process", "self", "caches", "fetch", "URL", "Response", "location"];

export default tseslint.config(
  { ignores: ["node_modules", "src/api_types.ts"] },
  js.configs.recommended,
  {
    files: ["**/*.ts"],
    extends: [...tseslint.configs.recommendedTypeChecked],
    languageOptions: {
      parserOptions: { project: "./tsconfig.json", tsconfigRootDir: import.meta.dirname },
    },
    rules: {
      eqeqeq: "error",
      "max-lines": ["error", 300],
      "@typescript-eslint/explicit-function-return-type": ["error", { allowExpressions: true }],
      // Rows of results come as open records whose cells are shown as they are.
      "@typescript-eslint/no-base-to-string": "off",
      "@typescript-eslint/restrict-template-expressions": "off",
    },
  },
  {
    files: ["**/*.mjs", "**/*.js"],
    languageOptions: { globals: Object.fromEntries(PLAIN.map((name) => [name, "readonly"])) },
  },
);
