CREATE TABLE `message_block` (
	`id` integer PRIMARY KEY NOT NULL,
	`unit_serial` text NOT NULL,
	`boot` integer NOT NULL,
	`boot_day` integer NOT NULL,
	`part` integer NOT NULL,
	`from_sequence` integer NOT NULL,
	`to_sequence` integer NOT NULL,
	`messages` integer NOT NULL,
	`booted_at` integer NOT NULL,
	`starts_at` integer NOT NULL,
	`ends_at` integer NOT NULL,
	`last_received_at` integer NOT NULL,
	`first_id` integer NOT NULL,
	`last_id` integer NOT NULL,
	`has_hello` integer NOT NULL,
	`has_fault` integer NOT NULL,
	`data` blob NOT NULL
);
--> statement-breakpoint
CREATE UNIQUE INDEX `message_block_name` ON `message_block` (`unit_serial`,`boot`,`boot_day`,`part`);--> statement-breakpoint
CREATE INDEX `message_block_time` ON `message_block` (`unit_serial`,`ends_at`,`starts_at`,`last_id`);--> statement-breakpoint
DROP INDEX `message_name`;--> statement-breakpoint
DROP INDEX `message_time`;--> statement-breakpoint
ALTER TABLE `message` DROP COLUMN `uptime_seconds`;