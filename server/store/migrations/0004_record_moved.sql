CREATE TABLE `record_moved` (
	`unit_serial` text PRIMARY KEY NOT NULL,
	`moved_from` integer NOT NULL,
	`by_message` integer NOT NULL
);
