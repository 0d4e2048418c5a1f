// The page: choose a job, then work through its tasks.

import { announce, hush } from "./announce";
import { ask, isOver, isRefusal, lineBack, measureIn, Refused, Unreachable } from "./api";
import { Connection, waitingWords } from "./connection";
import { nameDevice } from "./devices";
import { dialog } from "./dialog";
import { append, button, h, replace } from "./dom";
import { keepFocus } from "./focus";
import { homeLink, showTasks, skipLink, taskBar, unitChoice, visitChoice } from "./head";
import { keep, kept } from "./keep";
import { tellEmpty, visitOf } from "./last_read";
import type { LengthUnit } from "./lengths";
import { drained, flush } from "./outbox";
import { OverviewPage } from "./overview_page";
import { PlanView } from "./plan_view";
import { countPresses } from "./presses";
import { splitter } from "./splitter";
import { StartPage } from "./start_page";
import { language, t } from "./strings";
import type { Context, ProjectInfo } from "./task";
import { TASKS, type Starting } from "./tasks";
import { who } from "./who";

/** Most time a task waits for what was typed before it [ms]. */
const MOST_WAIT_MS = 5000;

class Page {
  private readonly app = document.getElementById("app")!;
  private readonly view = new PlanView();
  private readonly panel = h("main", { class: "panel", id: "panel", tabindex: -1 });
  private readonly tasks = taskBar();
  private readonly head = h("header", { class: "head" });
  private readonly connection = new Connection();
  private readonly folding = button("", () => this.fold(!this.folded), "fold");
  private readonly shell = h(
    "div",
    { class: "shell" },
    this.head,
    this.tasks,
    this.view.element,
    this.panel,
  );
  private readonly waiting = waitingWords();
  private folded = false;
  private project: ProjectInfo | null = null;
  private task: Starting | null = null;
  private name = "";
  private visit: string | null = null;
  private turn = 0;
  private routing = 0;
  private overview: OverviewPage | null = null;
  private leaving: Promise<void> = Promise.resolve();

  start(): void {
    document.documentElement.lang = language();
    replace(this.app, h("p", { class: "start", role: "status" }, t("one-moment")));
    this.connection.start();
    addEventListener("hashchange", () => void this.route());
    addEventListener("error", (event) => {
      if (isOver(event.error)) event.preventDefault();
    });
    addEventListener("unhandledrejection", (event) => {
      const reason: unknown = event.reason;
      // a refusal is told in words and is no fault of the page
      if (isOver(reason) || isRefusal(reason)) event.preventDefault();
      if (!isOver(reason)) this.unexpected(reason);
    });
    if ("serviceWorker" in navigator && isSecureContext)
      void navigator.serviceWorker.register("/keep_page.js");
    if (who()) void nameDevice(who()).catch(() => undefined);
    this.view.corner.append(this.folding);
    const bar = splitter(this.shell, () => this.view.map.updateSize());
    this.panel.before(h("section", { class: "split-box", "aria-label": t("resize-panel") }, bar));
    // What a tap on the plan tells stands in the panel.
    this.view.map.on("singleclick", () => this.fold(false));
    countPresses();
    keepFocus();
    void flush();
    void this.route();
  }

  private unexpected(reason: unknown): void {
    if (isRefusal(reason)) announce(reason.message, "bad");
    else announce(t("unexpected", { what: String(reason) }), "bad");
  }

  private async route(): Promise<void> {
    // Of addresses that follow each other fast the last one counts.
    const routing = ++this.routing;
    // A question about one task makes no sense over another.
    for (const open of document.querySelectorAll("dialog")) open.dispatchEvent(new Event("cancel"));
    const [, id, name = "map"] = location.hash.split("/").map(decodeURIComponent);
    this.overview?.leave();
    if (!id) return this.showStart(routing);
    try {
      if (this.project?.id !== id) await this.openProject(id, undefined, name);
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
    if (routing === this.routing) await this.open(name, routing);
  }

  /** Read a job; told that map or Drying is asked for next, the program begins that at once. */
  private async openProject(id: string, left = (): boolean => false, next = ""): Promise<void> {
    const query = ["map", "drying"].includes(next) ? `?opens=${next}` : "";
    const read = await ask<ProjectInfo>(`/api/projects/${encodeURIComponent(id)}${query}`);
    if (left()) return;
    this.project = read;
    keep(`project:${id}`, this.project);
    this.connection.opened(id, this.project.read_only, () => this.lookAgain(id));
    this.visit = this.project.visits.at(-1)?.id ?? null;
  }

  /** Read the job again and show in the head what is new of it. */
  private async lookAgain(id: string): Promise<void> {
    const left = (): boolean => this.project?.id !== id;
    if (left()) return;
    const [visit, last] = [this.visit, this.project?.visits.at(-1)?.id];
    await this.openProject(id, left);
    if (left()) return;
    if (visit !== null && visit !== last) this.visit = visit;
    this.fillHead();
    this.fillTasks();
  }

  private async showStart(routing: number): Promise<void> {
    await this.leaveTask();
    if (routing !== this.routing) return;
    this.project = null;
    this.connection.readOnly = false;
    document.title = "moisturemap";
    if (location.hash === "#floors") {
      this.overview = new OverviewPage(this.app, (id) => `#/${encodeURIComponent(id)}/map`);
      return this.overview.start();
    }
    await new StartPage(
      this.app,
      (id, task) => (location.hash = `#/${encodeURIComponent(id)}/${task}`),
    ).start();
  }

  /** Leave the present task; whoever comes next waits until it has stored what it held. */
  private leaveTask(): Promise<void> {
    const task = this.task;
    this.task = null;
    const leave = async (): Promise<void> => {
      await task?.leave?.();
      this.turn += 1;
      this.view.clear();
      this.view.under(null, null);
    };
    this.leaving = this.leaving.catch(() => undefined).then(leave);
    return this.leaving;
  }

  private async open(name: string, routing: number): Promise<void> {
    hush();
    this.fold(false);
    const entry = TASKS.find((one) => one.name === name) ?? TASKS[0]!;
    await this.leaveTask();
    if (routing !== this.routing) return;
    this.name = entry.name;
    this.frame();
    replace(this.panel, this.waiting);
    tellEmpty(this.visit, this.shownVisit);
    document.title = `${t(entry.key)} – ${this.project!.name} – moisturemap`;
    const task = entry.make(this.context());
    this.task = task;
    try {
      // What was typed on this device is in what the task shows or computes.
      await drained(MOST_WAIT_MS);
      if (this.task === task) await task.start();
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
    if (!(error instanceof Unreachable)) return;
    const task = this.task;
    void lineBack().then(() => (this.task === task ? this.route() : undefined));
  }

  private get unit(): LengthUnit {
    return kept<LengthUnit>("unit") ?? (this.project?.units === "us" ? "ft" : "m");
  }

  private get shownVisit(): string | null {
    return visitOf(this.name, this.project!.visits, this.visit);
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
    measureIn(this.unit);
    return {
      get project() {
        return still(page.project!);
      },
      get view() {
        return still(page.view);
      },
      get panel() {
        return still(page.panel);
      },
      unit: this.unit,
      get visit() {
        return still(page).shownVisit;
      },
      path: (rest) => `/api/projects/${encodeURIComponent(id)}/${rest}`,
      refresh: () => this.lookAgain(id),
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
      replace(this.app, skipLink(this.panel), this.shell);
    }
    this.fillHead();
    this.fillTasks();
  }

  private fillHead(): void {
    this.connection.tell();
    replace(
      this.head,
      homeLink(),
      h("span", { class: "job" }, this.project!.name),
      this.connection.element,
      this.connection.agreement.element,
      button(t("as-table"), () => void this.showTables()),
      unitChoice(this.unit, (unit) => {
        keep("unit", unit);
        void this.route();
      }),
      visitChoice(this.project!, [this.shownVisit, this.visit], (visit) => {
        this.visit = visit;
        void this.route();
      }),
    );
  }

  private fillTasks(): void {
    showTasks(this.tasks, this.project!, this.name);
  }

  private async showTables(): Promise<void> {
    const tables = this.task?.tables?.() ?? [];
    const content = h("div");
    append(content, tables.length ? tables : [h("p", {}, t("no-tables"))]);
    await dialog(t("as-table-title"), [content], []);
  }
}

new Page().start();
