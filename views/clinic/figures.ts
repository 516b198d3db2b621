/** Figures of a person's page, each of which opens the lines it was made of. */
export const figures = [
  "due",
  "met",
  "missed",
  "untold",
  "days",
  "seated",
  "unknown",
  "reliefs",
  "left",
  "right",
  "longest",
] as const;
export type Figure = (typeof figures)[number];

/** What a figure is called where its lines stand. */
export const figureNames: Readonly<Record<Figure, string>> = {
  due: "Due in all",
  met: "Due and met",
  missed: "Due, none seen",
  untold: "Can't be told",
  days: "Days that count",
  seated: "Seated and recorded",
  unknown: "Time whose state is not known",
  reliefs: "Complete reliefs seen",
  left: "Complete leans to the left",
  right: "Complete leans to the right",
  longest: "Longest sit without a relief seen",
};

/** Address of the lines behind a figure of the days shown; of one loan alone where `loan` is given. */
export type LinesOf = (figure: Figure, loan?: string) => string;

export const linesAddress =
  (person: string, { first, last }: { readonly first: string; readonly last: string }): LinesOf =>
  (figure, loan) =>
    `/clinic/people/${person}/lines?${new URLSearchParams({
      figure,
      from: first,
      to: last,
      ...(loan === undefined ? {} : { loan }),
    })}`;
