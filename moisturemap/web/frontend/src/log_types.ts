// Loggers and logs of machines as the program sends them.

import { day, type LoggerSeries } from "./log_curve";
import { number } from "./numbers";

export interface MachineLog {
  machine: string;
  room: string;
  source: string;
  entries: number;
  began: string | null;
  ended: string | null;
  litres: number | null;
  run_hours: number | null;
  energy_kwh: number | null;
}

export interface KeptLogs {
  loggers: LoggerSeries[];
  machine_logs: MachineLog[];
}

/** The log of a machine in one sentence. */
export function machineWords(log: MachineLog): string {
  const sums = [
    log.litres === null ? "" : `${number(log.litres)} l`,
    log.run_hours === null ? "" : `${number(log.run_hours)} h`,
    log.energy_kwh === null ? "" : `${number(log.energy_kwh)} kWh`,
  ].filter(Boolean);
  const when = log.began && log.ended ? `${day(log.began)} – ${day(log.ended)}` : "";
  return [log.machine, log.room, sums.join(", "), when].filter(Boolean).join(" · ");
}
