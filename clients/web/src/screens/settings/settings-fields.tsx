/** The fields of rig.json with what each is for. Only the band is needed. */
import type { JSX } from 'preact'
import { api } from '../../api.ts'
import { NumberField, SelectField, TextField } from '../../parts/fields.tsx'
import { useRead } from '../../query.ts'
import { temperatureLabel } from '../logbook/forms.ts'
import type { FormState } from '../../parts/use-form.ts'
import type { Draft } from './draft.ts'

/** Only kinds with a published isotherm can be reckoned with. */
export function BeadKindField(props: {
  value: string
  wrong?: string | null
  onValue: (value: string) => void
}): JSX.Element {
  const kinds = useRead(api.beadKinds, 3600).value?.items ?? []
  const options = kinds.map((kind) => ({ value: kind.name, label: kind.says }))
  if (!options.some((one) => one.value === props.value))
    options.unshift({ value: props.value, label: props.value || 'plain silica gel' })
  return <SelectField label="Kind of beads" options={options} {...props} />
}

export const nameWrong = (name: string): string | null => (name.trim() === '' ? 'A rig needs a name.' : null)

export function NameField(props: {
  form: FormState
  value: string
  hint?: string
  onValue: (value: string) => void
}): JSX.Element {
  const { form, onValue, ...rest } = props
  const change = (value: string): void => {
    form.mend('name')
    onValue(value)
  }
  return <TextField label="Name" isNeeded wrong={form.wrongs['name'] ?? null} onValue={change} {...rest} />
}

type Props = { form: FormState; draft: Draft; onDraft: (draft: Draft) => void; isShort?: boolean }

export function SettingsFields({ form, draft, onDraft, isShort }: Props): JSX.Element {
  const of = (name: keyof Draft) => ({
    value: draft[name],
    wrong: form.wrongs[name] ?? null,
    onValue: (value: string): void => {
      form.mend(name)
      onDraft({ ...draft, [name]: value })
    },
  })
  return (
    <>
      <div class="pair">
        <NumberField
          label="Pump starts at"
          unit="%"
          {...of('start')}
          isNeeded
          hint="The upper limit of your outlet."
        />
        <NumberField label="Pump stops at" unit="%" {...of('stop')} isNeeded hint="The lower one." />
      </div>
      <div class="pair">
        <NumberField
          label="Dry beads"
          unit="g"
          {...of('beadMassG')}
          hint="Without it there is no forecast."
        />
        <NumberField
          label="Pump"
          unit="L/min"
          {...of('flowLPerMin')}
          hint="Measured in the loop, if you can."
        />
        <NumberField label="Loop" unit="L" {...of('volumeL')} hint="Crankcase, hoses and column." />
      </div>
      {!isShort && (
        <>
          <BeadKindField {...of('beadKind')} />
          <div class="pair">
            <NumberField
              label="Metered power that means on"
              unit="W"
              {...of('pumpOnW')}
              hint="For outlets that report watts only."
            />
            <NumberField
              label="A reading at least every"
              unit="minutes"
              {...of('reportEveryMin')}
              hint="Learned when empty."
            />
            <NumberField label="Elevation" unit="m" {...of('elevationM')} />
          </div>
          <SelectField
            label="The return sensor sits"
            {...of('sensorSits')}
            options={[
              { value: '', label: 'to be learned from the readings' },
              { value: 'box', label: 'in the pump box' },
              { value: 'engine', label: 'in the engine' },
            ]}
          />
          <div class="pair">
            <NumberField
              label="Hangar air, usual"
              unit="%"
              {...of('ambientPct')}
              hint="Where no sensor measures it."
            />
            <NumberField label="Hangar, usual" unit={temperatureLabel()} {...of('ambientTemp')} />
          </div>
        </>
      )}
    </>
  )
}
