/** What the ingest has done since it started, for the log, the health page and tests. */
export interface IngestCounters {
  received: number;
  stored: number;
  duplicates: number;
  keptAside: number;
  commits: number;
  failedCommits: number;
  /** No room to wait for a commit: the connection was dropped and the unit sends again. */
  noRoom: number;
  refusedConnections: number;
  refusedPublishes: number;
  refusedSubscriptions: number;
  tooLarge: number;
}

export const newCounters = (): IngestCounters => ({
  received: 0,
  stored: 0,
  duplicates: 0,
  keptAside: 0,
  commits: 0,
  failedCommits: 0,
  noRoom: 0,
  refusedConnections: 0,
  refusedPublishes: 0,
  refusedSubscriptions: 0,
  tooLarge: 0,
});
