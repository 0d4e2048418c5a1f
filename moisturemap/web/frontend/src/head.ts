// The head of the page and the list of tasks.

import { h, replace } from "./dom";
import type { LengthUnit } from "./lengths";
import { t, type Key } from "./strings";
import type { ProjectInfo } from "./task";
import { TASKS } from "./tasks";

/** A link for keyboards from the head straight to the panel. */
export function skipLink(panel: HTMLElement): HTMLElement {
  const onclick = (event: Event): void => {
    event.preventDefault();
    panel.focus();
  };
  return h("a", { href: "#panel", class: "visually-hidden", onclick }, t("skip"));
}

export function homeLink(): HTMLElement {
  return h(
    "a",
    { class: "button name", href: "#", "aria-label": `moisturemap: ${t("all-jobs")}` },
    h("img", { src: "/icon.svg", alt: "" }),
    h("span", {}, "moisturemap"),
  );
}

/** Which visit is looked at; null while there is no choice. */
export function visitChoice(
  project: ProjectInfo,
  [current, begun]: [shown: string | null, begun: string | null],
  choose: (visit: string) => void,
): HTMLElement | null {
  if (project.visits.length < 2) return null;
  const visits = h("select", { "aria-label": t("visit"), onchange: () => choose(visits.value) });
  for (const visit of project.visits) {
    const selected = visit.id === current;
    const empty = selected && begun && begun !== current;
    const words = empty
      ? `${visitName(visit)} (${t("is-empty", { visit: begun })})`
      : visitName(visit);
    visits.append(h("option", { value: visit.id, selected }, words));
  }
  return visits;
}

export function unitChoice(unit: LengthUnit, choose: (unit: LengthUnit) => void): HTMLElement {
  const units = h("select", {
    "aria-label": t("units"),
    onchange: () => choose(units.value as LengthUnit),
  });
  const offered: [LengthUnit, Key][] = [
    ["m", "metres"],
    ["ft", "feet"],
  ];
  for (const [value, key] of offered)
    units.append(h("option", { value, selected: value === unit }, t(key)));
  return units;
}

/** The tasks as links, each with how far it has come. */
function taskList(project: ProjectInfo, name: string): HTMLElement {
  const list = h("ol");
  for (const task of TASKS) {
    const state = task.state(project);
    const link = h(
      "a",
      {
        href: `#/${encodeURIComponent(project.id)}/${task.name}`,
        "aria-current": task.name === name ? "page" : null,
      },
      t(task.key),
      state ? h("small", {}, state) : null,
    );
    list.append(h("li", {}, link));
  }
  return list;
}

/** The bar of tasks; where not all have room, the one that is open is in sight. */
export function taskBar(): HTMLElement {
  const bar = h("nav", { class: "tasks", "aria-label": t("tasks") });
  new ResizeObserver(() => toOpenTask(bar)).observe(bar); // a phone that was turned
  return bar;
}

export function showTasks(bar: HTMLElement, project: ProjectInfo, name: string): void {
  replace(bar, taskList(project, name));
  toOpenTask(bar);
}

function toOpenTask(bar: HTMLElement): void {
  const [open, box] = [bar.querySelector("[aria-current]"), bar.getBoundingClientRect()];
  if (!open) return;
  const { left, width } = open.getBoundingClientRect();
  bar.scrollLeft += left + width / 2 - (box.left + box.width / 2);
}

function visitName(visit: { id: string; started: string | null }): string {
  return visit.started ? `${visit.id}, ${new Date(visit.started).toLocaleDateString()}` : visit.id;
}
