CREATE TABLE `unit_command` (
	`id` text PRIMARY KEY NOT NULL,
	`unit_serial` text NOT NULL,
	`kind` text NOT NULL,
	`body` text NOT NULL,
	`issued_at` integer NOT NULL,
	`issued_by` text,
	`expires_at` integer NOT NULL,
	`sent_at` integer,
	`state` text NOT NULL,
	`answer` text,
	`answered_at` integer,
	`found` text,
	FOREIGN KEY (`unit_serial`) REFERENCES `unit`(`serial`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`issued_by`) REFERENCES `staff`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `unit_command_unit` ON `unit_command` (`unit_serial`,`issued_at`);--> statement-breakpoint
CREATE INDEX `unit_command_open` ON `unit_command` (`expires_at`) WHERE state in ('waiting', 'sent', 'accepted');