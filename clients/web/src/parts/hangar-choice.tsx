import type { JSX } from 'preact'
import { chooseHangar, hangar, me } from '../session.ts'
import { SelectField } from './fields.tsx'

/** Only for people with more than one hangar. */
export function HangarChoice(): JSX.Element | null {
  const all = me.value?.hangars ?? []
  if (all.length < 2 || !hangar.value) return null
  return (
    <SelectField
      label="Hangar"
      value={hangar.value.id}
      options={all.map((one) => ({ value: one.id, label: one.name }))}
      onValue={chooseHangar}
    />
  )
}
