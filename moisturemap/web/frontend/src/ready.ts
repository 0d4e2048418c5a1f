// A form whose main button rests while there is nothing to store yet.

/** Whether the main button of the dialog a piece stands in can be pressed. */
export function ready(piece: HTMLElement, can: boolean): void {
  const main = piece.closest("dialog")?.querySelector<HTMLButtonElement>(".actions .main");
  if (main) main.disabled = !can;
}
