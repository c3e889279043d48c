/**
 * Form parts: label, hint and complaint always tied to the input they belong to, and above it: inputs side by side stay
 * on one line, and a phone's keyboard hides nothing that is said.
 */
import type { ComponentChildren, JSX } from 'preact'
import { useId } from 'preact/hooks'
import { readNumber } from '../typed-number.ts'

type FieldProps = {
  label: string
  hint?: string
  wrong?: string | null
  children: (ids: { id: string; 'aria-describedby'?: string; 'aria-invalid'?: boolean }) => ComponentChildren
}

export function Field({ label, hint, wrong, children }: FieldProps): JSX.Element {
  const id = useId()
  const said = [hint && `${id}-hint`, wrong && `${id}-wrong`].filter(Boolean).join(' ')
  return (
    <div class="field">
      <label for={id}>{label}</label>
      {hint && (
        <span class="hint" id={`${id}-hint`}>
          {hint}
        </span>
      )}
      {wrong && (
        <span class="wrong" id={`${id}-wrong`} role="alert">
          {wrong}
        </span>
      )}
      {children({
        id,
        ...(said ? { 'aria-describedby': said } : {}),
        ...(wrong ? { 'aria-invalid': true } : {}),
      })}
    </div>
  )
}

type TextProps = {
  label: string
  hint?: string
  wrong?: string | null
  value: string
  onValue: (value: string) => void
  unit?: string
  isNeeded?: boolean
  inputMode?: 'decimal' | 'numeric' | 'text'
  autoComplete?: string
  placeholder?: string
}

export function TextField(props: TextProps): JSX.Element {
  const { label, hint, wrong, value, onValue, unit, isNeeded, inputMode, autoComplete, placeholder } = props
  return (
    <Field
      label={unit ? `${label}, ${unit}` : label}
      {...(hint === undefined ? {} : { hint })}
      {...(wrong === undefined ? {} : { wrong })}
    >
      {(ids) => (
        <input
          {...ids}
          type="text"
          inputMode={inputMode ?? 'text'}
          autoComplete={autoComplete ?? 'off'}
          placeholder={placeholder ?? ''}
          value={value}
          required={isNeeded ?? false}
          onInput={(event) => onValue(event.currentTarget.value)}
        />
      )}
    </Field>
  )
}

export function NumberField(props: Omit<TextProps, 'inputMode'>): JSX.Element {
  return <TextField {...props} inputMode="decimal" autoComplete="off" />
}

type TimeProps = Pick<TextProps, 'label' | 'hint' | 'wrong' | 'value' | 'onValue' | 'isNeeded'> & {
  kind?: 'date' | 'time' | 'datetime-local'
  /** The last that may be chosen, as the field writes it. */
  last?: string
}

/** A date, a time of day or both, as the device asks for them. */
export function TimeField(props: TimeProps): JSX.Element {
  const { label, hint, wrong, value, onValue, isNeeded, kind = 'datetime-local', last } = props
  return (
    <Field label={label} wrong={wrong ?? null} {...(hint === undefined ? {} : { hint })}>
      {(ids) => (
        <input
          {...ids}
          type={kind}
          value={value}
          required={isNeeded ?? false}
          {...(last === undefined ? {} : { max: last })}
          onInput={(event) => onValue(event.currentTarget.value)}
        />
      )}
    </Field>
  )
}

type Option = { value: string; label: string }
type SelectProps = {
  label: string
  hint?: string
  wrong?: string | null
  value: string
  options: readonly Option[]
  onValue: (value: string) => void
}

export function SelectField(props: SelectProps): JSX.Element {
  const { label, hint, wrong, value, options, onValue } = props
  return (
    <Field label={label} wrong={wrong ?? null} {...(hint === undefined ? {} : { hint })}>
      {(ids) => (
        <select {...ids} value={value} onChange={(event) => onValue(event.currentTarget.value)}>
          {options.map((option) => (
            <option key={option.value} value={option.value}>
              {option.label}
            </option>
          ))}
        </select>
      )}
    </Field>
  )
}

type StepperProps = {
  label: string
  unit: string
  hint?: string
  wrong?: string | null
  value: string
  step: number
  digits: number
  least?: number
  onValue: (value: string) => void
}

/** A number with a minus and a plus big enough for a thumb; typing works as well. */
export function Stepper(props: StepperProps): JSX.Element {
  const { label, unit, hint, wrong, value, step, digits, least = 0, onValue } = props
  const change = (by: number): void => {
    const now = readNumber(value) ?? 0
    onValue(Math.max(least, now + by).toFixed(digits))
  }
  return (
    <Field label={label} wrong={wrong ?? null} {...(hint === undefined ? {} : { hint })}>
      {(ids) => (
        <div class="stepper">
          <button type="button" aria-label={`Less ${label}`} onClick={() => change(-step)}>
            −
          </button>
          <input
            {...ids}
            inputMode="decimal"
            autoComplete="off"
            value={value}
            onInput={(event) => onValue(event.currentTarget.value)}
          />
          <button type="button" aria-label={`More ${label}`} onClick={() => change(step)}>
            +
          </button>
          <span class="soft">{unit}</span>
        </div>
      )}
    </Field>
  )
}

export function Tick(props: {
  label: ComponentChildren
  isOn: boolean
  onChange: (isOn: boolean) => void
}): JSX.Element {
  return (
    <label class="tick">
      <input
        type="checkbox"
        checked={props.isOn}
        onChange={(event) => props.onChange(event.currentTarget.checked)}
      />
      <span>{props.label}</span>
    </label>
  )
}

/** One of a few, as a row of words. */
export function Tabs<T extends string>(props: {
  label: string
  options: readonly { key: T; label: string }[]
  value: T | null
  onValue: (value: T) => void
}): JSX.Element {
  return (
    <div class="tabs" role="group" aria-label={props.label}>
      {props.options.map((option) => (
        <button
          key={option.key}
          type="button"
          aria-pressed={option.key === props.value}
          onClick={() => props.onValue(option.key)}
        >
          {option.label}
        </button>
      ))}
    </div>
  )
}
