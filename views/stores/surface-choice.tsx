import { Choices, type Problems, type Typed, typedList } from "../layout/forms.tsx";

/** Asked whenever a cushion leaves a person for good: nobody is left without a surface. */
export function SurfaceChoice({
  problems,
  typed,
}: {
  problems?: Problems | undefined;
  typed?: Typed | undefined;
}) {
  return (
    <Choices
      legend="What the person sits on from now on"
      name="surface"
      kind="radio"
      chosen={typedList(typed, "surface")}
      error={problems?.surface}
      choices={[
        { value: "equivalent-in-place", words: "An equivalent surface is in place, and the clinician knows" },
        { value: "not-needed", words: "No surface is needed any more" },
      ]}
    />
  );
}
