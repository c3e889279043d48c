/** Said where people look first: with no device registered the service is a page that somebody has to open. */
import type { JSX } from 'preact'
import { api } from '../api.ts'
import { useAllRigs } from '../my-rigs.ts'
import { useRead } from '../query.ts'

export function NoDevice(): JSX.Element | null {
  const devices = useRead(api.devices, 300).value?.items
  const rigs = useAllRigs()
  if (!devices || rigs.length === 0 || devices.some((one) => one.endedAt === null)) return null
  return (
    <div class="notice loud" role="status">
      <p>
        <b>No device of yours is told.</b> <a href="/messages">Switch messages on</a>, or you learn of it only
        here.
      </p>
    </div>
  )
}
