/** Hangars and their members. */
import { DELETE_ROWS_PER_STEP } from '../../../core/limits.ts'
import { deleteHangarStep } from '../../../flows/people/delete-hangar.ts'
import { makeId } from '../../../flows/people/secrets.ts'
import { personOf } from '../caller.ts'
import type { App } from '../context.ts'
import { pageOf } from '../page-of.ts'
import { hangarAt, roleAt } from '../place.ts'
import { refuse } from '../problem.ts'
import { hangarOperations as operations } from '../schemas/hangars.ts'
import { serve } from '../serve.ts'
import { hangarView, memberView } from '../views.ts'

export function serveHangars(app: App): void {
  serve(app, operations.listHangars, async ({ caller, ports, query }) => {
    const person = personOf(caller)
    if (person !== null) {
      const mine = await ports.people.hangars.ofPerson(person.id)
      const { items, next } = pageOf(mine, ({ hangar }) => hangar.id, query)
      return { items: items.map(({ hangar }) => hangarView(hangar)), next }
    }
    const all = await ports.people.hangars.all({ after: query.after ?? '', limit: query.limit })
    const next = all.length === query.limit ? (all.at(-1)?.id ?? null) : null
    return { items: all.map(hangarView), next }
  })
  serve(app, operations.addHangar, async ({ ports, body, nowS }) => {
    const shard = body.shard ?? Math.max(...ports.shards.map((one) => one.shard))
    if (!ports.shards.some((one) => one.shard === shard))
      return refuse('invalid', { errors: [{ pointer: '/shard', detail: 'No such database is bound.' }] })
    const hangar = { id: makeId(), name: body.name, shard, madeAtS: nowS, deletingAtS: null }
    await ports.people.hangars.add(hangar)
    return hangarView(hangar)
  })
  serve(app, operations.readHangar, ({ at }) => hangarView(hangarAt(at)))
  serve(app, operations.changeHangar, async ({ at, ports, body }) => {
    const hangar = hangarAt(at)
    await ports.people.hangars.rename(hangar.id, body.name)
    return hangarView({ ...hangar, name: body.name })
  })
  serve(app, operations.removeHangar, async ({ at, ports, body, nowS, context }) => {
    const hangar = hangarAt(at)
    if (body.name !== hangar.name)
      return refuse('invalid', {
        errors: [{ pointer: '/name', detail: 'This is not the name of the hangar.' }],
      })
    if (hangar.deletingAtS === null) await ports.people.hangars.startDeleting(hangar.id, nowS)
    const step = await deleteHangarStep(ports, hangar, { budget: DELETE_ROWS_PER_STEP, nowS })
    return context.json(step, step.isDone ? 200 : 202)
  })
  serveMembers(app)
}

function serveMembers(app: App): void {
  serve(app, operations.listMembers, async ({ at, ports, query }) => {
    const members = await ports.people.hangars.members(hangarAt(at).id)
    const { items, next } = pageOf(members, ({ person }) => person, query)
    return { items: items.map(memberView), next }
  })
  serve(app, operations.changeMember, async ({ at, ports, params, body }) => {
    const { id } = hangarAt(at)
    const isDone = await ports.people.hangars.setRole(id, params.member, body.role)
    if (isDone === null) return refuse('not-found')
    if (!isDone) return refuse('last-keeper')
    const members = await ports.people.hangars.members(id)
    const changed = members.find((member) => member.person === params.member)
    return changed === undefined ? refuse('not-found') : memberView(changed)
  })
  serve(app, operations.removeMember, async ({ at, caller, ports, params }) => {
    const isSelf = personOf(caller)?.id === params.member
    if (!isSelf && roleAt(at) !== 'keeper') return refuse('forbidden')
    const isDone = await ports.people.hangars.removeMember(hangarAt(at).id, params.member)
    if (isDone === null) return refuse('not-found')
    return isDone ? undefined : refuse('last-keeper')
  })
}
