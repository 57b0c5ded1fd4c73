// @ts-check
/**
 * The shapes of the live channel, for the type checker only: no module loads this file.
 *
 * @typedef {{id: string, name: string, role: 'lead' | 'crew' | 'house'}} Me
 * @typedef {{name: string, role: string, here: boolean, gone: number | null, at: string | null, aloft: string | null, rtt_ms: number | null}} Person
 *
 * In a profile `name` is what to show; where that is in another language, `called` is what stands in the file, and
 * what is sent. `cellNames` are for showing likewise.
 * @typedef {{reason: string, safe?: number}} Guard
 * @typedef {{name: string, called?: string, dmx: [number, number], physical?: [number, number] | null, slot?: number | null}} Range
 * @typedef {{kind: string, words: string, hold_s?: number, busy_s?: number | null, lockout_s?: number | null}} Action
 * @typedef {{attribute: string, name?: string, called?: string, dmx: [number, number], physical?: [number, number] | null,
 *   unit?: string, ranges?: Range[] | null, wheel?: string | null, emitter?: string | null,
 *   mode_master?: {control: string, dmx: [number, number]} | null, action?: Action | null, strobes?: boolean}} ControlFunction
 * @typedef {{key: string, attribute: string, cell?: string | null, offset: number[], default: number, home: number,
 *   highlight?: number | null, guarded?: Guard | null, functions: ControlFunction[]}} Control
 * @typedef {{name: string, footprint?: number, controls: Control[], cellNames?: Record<string, string>}} Mode
 * @typedef {{key: string, name: string, called?: string, short_name: string, maker: string, kind: string, guarded?: Guard | null,
 *   wheels?: Record<string, {name: string, called?: string, xyY?: [number, number, number]}[]>,
 *   emitters?: Record<string, {xyY?: [number, number, number], dominant_nm?: number}>, modes: Mode[]}} Profile
 *
 * @typedef {{channel: number, unit: string, position: string, purpose: string, profile: string, mode: string,
 *   universe: number | null, address: number | null, starts?: {number: number, universe: number, address: number}[], house: boolean, guarded: boolean, work_light: boolean, notes: string,
 *   values: Record<string, number>, holder: string | null, hands_on: string[], still: boolean,
 *   armed: Armed | null, busy: Left | null, cools: Left | null, out_of_use?: {by: string, reason: string} | null,
 *   fault: string | null, checked: 'works' | 'fault' | null, level: number, focus: Focus | null}} Fixture
 * The focus call: how far a unit is (by whom, when by the laptop's clock), to whom it is given, what its beam is to do.
 * @typedef {{mark: 'todo' | 'done' | 'back', given: string | null, by: string, at: number, note: Record<string, string>, kept: boolean}} Focus
 * Calls across the room; `ago_s` when it was told, `at` the moment by this phone's own `performance.now()`.
 * @typedef {{number: number, person: string, name: string, what: string, to: string[], seen: string[], ago_s: number, at: number}} Shout
 * How a universe is shared with a console (stage/shared.py).
 * @typedef {{join: 'alone' | 'above' | 'slots' | 'below' | 'off', follow: boolean, gone: 'hold' | 'baseline'}} Shared
 * @typedef {{level: number, fade_s: number, beside: '' | 'position' | 'purpose', beside_level: number}} Call
 * Times: `until` by the laptop's clock, `left_s` what was left of it when it was told, `ends` the moment by this phone's own
 * `performance.now()`, put in as it arrives.
 * `busy`: takes no other action before; `cools`: its lamp is not struck again before.
 * @typedef {{left_s: number, ends: number}} Left
 * @typedef {{by: string, reason: string, until: number, left_s: number, ends: number}} Armed
 * @typedef {{by: string, at: number, left_s: number, ends: number, agreed: string[], refused: string | null}} Dark
 * @typedef {{fixture: string, until: number, left_s: number, ends: number}} Lifted
 * @typedef {{by: string, left: string[], breathing: string[], outside: string[], answered: number, most: number}} Seek
 * A step of teaching: what is asked of which slot, how many looks are shown one after the other. `fine`: fine slot by coarse.
 * @typedef {{ask: string, slot: number, at: number, choices: string[], looks: number, caution: string, most_s: number}} TeachStep
 * @typedef {{by: string, universe: number, first: number, slots: number, answered: number, flame: boolean,
 *   seen: Record<string, string>, fine: Record<string, number>, step: TeachStep | null}} Teaching
 * @typedef {{name: string, fixtures: number}} Look
 * @typedef {{raw: number, by: string | null}} SlotHold
 * @typedef {Record<string, Record<string, SlotHold | null>>} Slots
 *
 * What hello carries whole and change carries in part.
 * @typedef {{you: Me, show: {name: string, venue: string}, people: Record<string, Person | null>,
 *   fixtures: Record<string, Partial<Fixture> | null>, profiles: Record<string, Profile>,
 *   looks: Record<string, Look | null>, baseline: string | null, master: number, blackout: boolean,
 *   dark: Dark | null, lifted: Lifted | null, seek: Seek | null, teaching: Teaching | null,
 *   order: string[], now: Record<string, string>, call: Call, shouts: Shout[], shared: Record<string, Shared>, settings: Record<string, number>, slots: Slots, universes: number[],
 *   alerts: Record<string, Told>, laptop: Laptop, check: Check, faults: {open: number, fixed: number, steps: number}}} State
 * A rig check: the round that goes on, and where everybody is in it. `left_s`: at the pace so far, null: not known yet.
 * @typedef {{number: number, at: number, by: string, level: number, works: number, faults: number}} CheckRound
 * @typedef {{fixture: string | null, order: string, where: string, unproved: boolean, at: number, done: number, of: number, ended: boolean,
 *   skipped: string[], walk: {of: number, at: number | null, what: string}}} CheckAt
 * @typedef {{round: CheckRound | null, works: number, faults: number, of: number, left_s: number | null, people: Record<string, CheckAt>}} Check
 * Where the laptop is found: the page by address, the likeliest first, and by its name on the network.
 * @typedef {{pages: string[], name: string | null}} Laptop
 * A sentence of the server: its English pattern, and the facts in it, by name.
 * @typedef {[string, Record<string, string | number | Said>?]} Said
 * @typedef {{why: string, said?: Said}} Told  in English, and what it was made from
 *
 * `more`: only the fixture that is open is in it, and its profile; `rest` follows with every fixture, in the order of the rig.
 * @typedef {{is: 'hello', rev: number, more?: boolean} & Partial<State>} Hello
 * @typedef {{is: 'rest', rev: number} & Partial<State>} Rest
 * @typedef {{is: 'change', rev: number} & Partial<State>} Change
 * @typedef {Hello | Rest | Change} News
 * @typedef {{is: 'here', rev: number}} Here
 * @typedef {{is: 'ok', n: number, rev: number}} Ok
 * @typedef {{is: 'refused', n: number, why: string, said?: Said, fixture?: string | null, holder?: string | null,
 *   ask?: 'take' | 'held' | 'dark' | null}} Refused
 * @typedef {News | Here | Ok | Refused} Incoming
 *
 * @typedef {{do: string, [more: string]: unknown}} Command
 */
export {};
