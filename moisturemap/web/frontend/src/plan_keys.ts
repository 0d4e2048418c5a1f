// What a key asks of the plan editor.

export type PlanKey = "undo" | "redo" | "escape" | "delete";

interface Pressed {
  key: string;
  ctrlKey: boolean;
  metaKey: boolean;
  shiftKey: boolean;
}

/** What a key means, or null for nothing; Shift turns undo into redo, as Ctrl+Y does. */
export function planKey({ key, ctrlKey, metaKey, shiftKey }: Pressed): PlanKey | null {
  const letter = ctrlKey || metaKey ? key.toLowerCase() : "";
  if (letter === "y") return "redo";
  if (letter === "z") return shiftKey ? "redo" : "undo";
  if (key === "Escape") return "escape";
  return key === "Delete" ? "delete" : null;
}
