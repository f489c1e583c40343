// What the roles are called and what each may do.
import type { NewAccount } from "../api/types";

export type StaffRole = NewAccount["role"];

export const ROLES: readonly (readonly [StaffRole, string, string])[] = [
  ["office", "Office", "changes and plans jobs, adds people, and makes links for guests"],
  ["crew", "Crew", "changes and plans jobs"],
];
