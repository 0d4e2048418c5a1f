// The page: choose a job, then work through its tasks.

import { ask, Refused, Unreachable, watchConnection } from "./api";
import { announce, append, button, dialog, h, hush, replace } from "./dom";
import { DrillPage } from "./drill_page";
import { keep, kept } from "./keep";
import type { LengthUnit } from "./lengths";
import { MapPage } from "./map_page";
import { discard, flush, retry, waiting, watchOutbox } from "./outbox";
import { PlanPage } from "./plan_page";
import { PlanView } from "./plan_view";
import { ReadingsPage } from "./readings_page";
import { TestsPage } from "./tests_page";
import { DryingPage } from "./drying_page";
import { ReportPage } from "./report_page";
import { SourcePage } from "./source_page";
import { StartPage } from "./start_page";
import { unsaved, watchUnsaved } from "./unsaved";
import { nameDevice } from "./devices";
import { who } from "./who";
import { language, t, type Key } from "./strings";
import type { Context, ProjectInfo, Task } from "./task";

type Starting = Task & { start: () => Promise<void> };

const TASKS: {
  name: string;
  key: Key;
  make: (context: Context) => Starting;
  state: (info: ProjectInfo) => string;
}[] = [
  {
    name: "plan",
    key: "plan",
    make: (c) => new PlanPage(c),
    state: (i) => t("n-rooms", { n: i.rooms.length }),
  },
  {
    name: "readings",
    key: "readings",
    make: (c) => new ReadingsPage(c),
    state: (i) => t("n-readings", { n: i.readings }),
  },
  { name: "map", key: "map", make: (c) => new MapPage(c), state: () => "" },
  { name: "drill", key: "drill-plan", make: (c) => new DrillPage(c), state: () => "" },
  {
    name: "tests",
    key: "tests",
    make: (c) => new TestsPage(c),
    state: (i) => t("n-tests", { n: i.tests }),
  },
  {
    name: "drying",
    key: "drying",
    make: (c) => new DryingPage(c),
    state: (i) => t("n-visits", { n: i.visits.length }),
  },
  { name: "source", key: "source", make: (c) => new SourcePage(c), state: () => "" },
  { name: "report", key: "report", make: (c) => new ReportPage(c), state: () => "" },
];

class Page {
  private readonly app = document.getElementById("app")!;
  private readonly view = new PlanView();
  private readonly panel = h("main", { class: "panel", id: "panel", tabindex: -1 });
  private readonly tasks = h("nav", { class: "tasks", "aria-label": t("tasks") });
  private readonly head = h("header", { class: "head" });
  private readonly connection = button("", () => void this.showOutbox(), "connection");
  private readonly folding = button("", () => this.fold(!this.folded), "fold");
  private readonly shell = h(
    "div",
    { class: "shell" },
    this.head,
    this.tasks,
    this.view.element,
    this.panel,
  );
  private folded = false;
  private project: ProjectInfo | null = null;
  private task: Starting | null = null;
  private name = "";
  private visit: string | null = null;
  private unit: LengthUnit = kept<LengthUnit>("unit") ?? "m";
  private reachable = true;
  private waiting = 0;
  private turn = 0;
  private refused: string[] = [];

  start(): void {
    document.documentElement.lang = language();
    watchConnection((reachable) => {
      this.reachable = reachable;
      this.tellConnection();
      if (reachable) void flush();
    });
    watchOutbox((count, refused) => {
      this.waiting = count;
      this.refused = refused;
      this.tellConnection();
    });
    watchUnsaved(() => this.tellConnection());
    addEventListener("hashchange", () => void this.route());
    addEventListener("online", () => void flush());
    addEventListener("unhandledrejection", (event) => {
      if (isOver(event.reason)) event.preventDefault();
      else this.unexpected(event.reason);
    });
    if ("serviceWorker" in navigator && isSecureContext)
      void navigator.serviceWorker.register("/keep_page.js");
    if (who()) void nameDevice(who()).catch(() => undefined);
    this.view.corner.append(this.folding);
    // What a tap on the plan tells stands in the panel.
    this.view.map.on("singleclick", () => this.fold(false));
    void flush();
    void this.route();
    setInterval(() => this.listen(), 15_000);
  }

  /** Notice a lost or regained connection while nothing is asked. */
  private listen(): void {
    if (document.visibilityState === "visible" && (!this.reachable || this.waiting > 0)) {
      ask("/api/health").catch(() => undefined);
    }
  }

  private unexpected(reason: unknown): void {
    if (reason instanceof Refused || reason instanceof Unreachable) announce(reason.message, "bad");
    else announce(t("unexpected", { what: String(reason) }), "bad");
  }

  private tellConnection(): void {
    const words = !this.reachable
      ? t("lost")
      : this.refused.length
        ? t("n-refused", { n: this.refused.length })
        : unsaved().length
          ? t("not-all-stored", { what: unsaved()[0]![0] })
          : this.waiting
            ? t("n-waiting", { n: this.waiting })
            : t("all-stored");
    this.connection.textContent =
      this.waiting && !this.reachable ? `${words} ${t("n-waiting", { n: this.waiting })}` : words;
    this.connection.classList.toggle(
      "lost",
      !this.reachable || this.refused.length + unsaved().length > 0,
    );
  }

  private async showOutbox(): Promise<void> {
    const items = waiting();
    const list = h("ul", { class: "list" });
    for (const item of items) {
      const again = item.refused ? button(t("try-again"), () => retry(item.name)) : null;
      const drop = item.refused
        ? button(
            t("discard"),
            () => {
              discard(item.name);
              row.remove();
            },
            "danger",
          )
        : null;
      const row = h(
        "li",
        {},
        h("div", {}, item.what, item.refused ? h("p", { class: "bad" }, item.refused) : null),
        again,
        drop,
      );
      list.append(row);
    }
    for (const [what, why] of unsaved())
      list.append(h("li", {}, h("div", {}, what, h("p", { class: "bad" }, why))));
    await dialog(
      t("connection"),
      [h("p", {}, list.childElementCount ? t("waiting-list") : t("all-stored-long")), list],
      [],
    );
  }

  private async route(): Promise<void> {
    // A question about one task makes no sense over another.
    for (const open of document.querySelectorAll("dialog")) open.dispatchEvent(new Event("cancel"));
    const [, id, name = "map"] = location.hash.split("/").map(decodeURIComponent);
    if (!id) return this.showStart();
    try {
      if (this.project?.id !== id) await this.openProject(id);
    } catch (error) {
      if (error instanceof Unreachable) this.project = kept<ProjectInfo>(`project:${id}`);
      if (!this.project) {
        announce((error as Error).message, "bad");
        if (error instanceof Refused) location.hash = "";
        else setTimeout(() => void this.route(), 3000);
        return;
      }
      this.visit = this.project.visits.at(-1)?.id ?? null;
    }
    await this.open(name);
  }

  private async openProject(id: string): Promise<void> {
    this.project = await ask<ProjectInfo>(`/api/projects/${encodeURIComponent(id)}`);
    keep(`project:${id}`, this.project);
    this.visit = this.project.visits.at(-1)?.id ?? null;
  }

  private async showStart(): Promise<void> {
    await this.leaveTask();
    this.project = null;
    document.title = "moisturemap";
    await new StartPage(
      this.app,
      (id, task) => (location.hash = `#/${encodeURIComponent(id)}/${task}`),
    ).start();
  }

  private async leaveTask(): Promise<void> {
    const task = this.task;
    this.task = null;
    await task?.leave?.();
    this.turn += 1;
    this.view.clear();
    this.view.under(null, null);
  }

  private async open(name: string): Promise<void> {
    hush();
    this.fold(false);
    const entry = TASKS.find((one) => one.name === name) ?? TASKS[0]!;
    await this.leaveTask();
    this.name = entry.name;
    this.frame();
    replace(this.panel, h("p", { role: "status" }, t("one-moment")));
    document.title = `${t(entry.key)} – ${this.project!.name} – moisturemap`;
    const task = entry.make(this.context());
    this.task = task;
    try {
      await task.start();
    } catch (error) {
      if (this.task === task) this.fail(error);
      if (!(error instanceof Refused || error instanceof Unreachable || isOver(error))) throw error;
    }
  }

  private fail(error: unknown): void {
    const words = error instanceof Error ? error.message : String(error);
    const entry = TASKS.find((one) => one.name === this.name) ?? TASKS[0]!;
    replace(
      this.panel,
      h("h1", {}, t(entry.key)),
      h("div", { class: "refusal", role: "alert" }, words),
      button(t("try-again"), () => void this.route(), "main"),
    );
  }

  private context(): Context {
    // eslint-disable-next-line @typescript-eslint/no-this-alias -- getters below need the page
    const page = this;
    const id = this.project!.id;
    const turn = this.turn;
    // What a task still does after it was left ends where it would touch the screen.
    const still = <T>(shared: T): T => {
      if (page.turn !== turn) throw new DOMException("this task was left", "AbortError");
      return shared;
    };
    this.view.setUnit(this.unit);
    return {
      get project() {
        return page.project!;
      },
      get view() {
        return still(page.view);
      },
      get panel() {
        return still(page.panel);
      },
      unit: this.unit,
      get visit() {
        return page.visit;
      },
      path: (rest) => `/api/projects/${encodeURIComponent(id)}/${rest}`,
      refresh: async () => {
        if (this.project?.id !== id) return;
        const [visit, last] = [this.visit, this.project.visits.at(-1)?.id];
        await this.openProject(id);
        if (visit !== null && visit !== last) this.visit = visit;
        this.fillHead();
        this.fillTasks();
      },
      go: (task) => (location.hash = `#/${encodeURIComponent(id)}/${task}`),
      reopen: () => void this.route(),
    };
  }

  /** Fold the panel away, so that the plan is the page, or bring it back. */
  private fold(folded: boolean): void {
    this.folded = folded;
    this.shell.classList.toggle("folded", folded);
    this.panel.inert = folded;
    const words = t(folded ? "unfold-panel" : "fold-panel");
    this.folding.textContent = words;
    this.folding.setAttribute("aria-expanded", String(!folded));
  }

  private frame(): void {
    if (!this.panel.isConnected || !this.view.element.isConnected) {
      const skip = h(
        "a",
        {
          href: "#panel",
          class: "visually-hidden",
          onclick: (event) => {
            event.preventDefault();
            this.panel.focus();
          },
        },
        t("skip"),
      );
      replace(this.app, skip, this.shell);
    }
    this.fillHead();
    this.fillTasks();
  }

  private fillHead(): void {
    const project = this.project!;
    const home = h(
      "a",
      { class: "button name", href: "#", "aria-label": `moisturemap: ${t("all-jobs")}` },
      h("img", { src: "/icon.svg", alt: "" }),
      h("span", {}, "moisturemap"),
    );
    const visits = h("select", {
      "aria-label": t("visit"),
      onchange: () => {
        this.visit = visits.value;
        void this.route();
      },
    });
    for (const visit of project.visits)
      visits.append(
        h("option", { value: visit.id, selected: visit.id === this.visit }, visitName(visit)),
      );
    const units = h("select", {
      "aria-label": t("units"),
      onchange: () => {
        this.unit = units.value as LengthUnit;
        keep("unit", this.unit);
        void this.route();
      },
    });
    for (const [value, key] of [
      ["m", "metres"],
      ["ft", "feet"],
    ] as [string, Key][])
      units.append(h("option", { value, selected: value === this.unit }, t(key)));
    this.tellConnection();
    replace(
      this.head,
      home,
      h("span", { class: "job" }, project.name),
      this.connection,
      button(t("as-table"), () => void this.showTables()),
      units,
      project.visits.length > 1 ? visits : null,
    );
  }

  private fillTasks(): void {
    const list = h("ol");
    for (const task of TASKS) {
      const state = task.state(this.project!);
      const current = task.name === this.name ? "page" : null;
      const link = h(
        "a",
        { href: `#/${encodeURIComponent(this.project!.id)}/${task.name}`, "aria-current": current },
        t(task.key),
        state ? h("small", {}, state) : null,
      );
      list.append(h("li", {}, link));
    }
    replace(this.tasks, list);
  }

  private async showTables(): Promise<void> {
    const tables = this.task?.tables?.() ?? [];
    const content = h("div");
    append(content, tables.length ? tables : [h("p", {}, t("no-tables"))]);
    await dialog(t("as-table-title"), [content], []);
  }
}

function isOver(reason: unknown): boolean {
  return reason instanceof DOMException && reason.name === "AbortError";
}

export function visitName(visit: { id: string; started: string | null }): string {
  return visit.started ? `${visit.id}, ${new Date(visit.started).toLocaleDateString()}` : visit.id;
}

new Page().start();
