import type { ComponentChildren, JSX } from 'preact'
import { useEffect, useRef } from 'preact/hooks'
import type { FormState } from './use-form.ts'

type Props = { form: FormState; onSubmit: () => void; children: ComponentChildren }

/** Says itself what is wrong, beside the fields and not in the browser's bubbles, and goes to the first of them. */
export function Form({ form, onSubmit, children }: Props): JSX.Element {
  const own = useRef<HTMLFormElement>(null)
  useEffect(() => {
    const wrong = [...(own.current?.querySelectorAll<HTMLElement>('[aria-invalid]') ?? [])]
    for (const field of wrong) {
      const folded = field.closest('details')
      if (folded) folded.open = true
    }
    wrong[0]?.focus()
  }, [form.failed])
  return (
    <form
      ref={own}
      noValidate
      onSubmit={(event) => {
        event.preventDefault()
        onSubmit()
      }}
    >
      {children}
    </form>
  )
}
