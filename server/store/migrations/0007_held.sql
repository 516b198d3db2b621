CREATE TABLE `hidden_leans_held` (
	`unit_serial` text NOT NULL,
	`since` integer NOT NULL,
	`directions` text NOT NULL,
	PRIMARY KEY(`unit_serial`, `since`),
	FOREIGN KEY (`unit_serial`) REFERENCES `unit`(`serial`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE TABLE `ledger_day_held` (
	`loan_id` text NOT NULL,
	`day` text NOT NULL,
	`starts_at` integer NOT NULL,
	`ends_at` integer NOT NULL,
	`runs` text NOT NULL,
	`due` text NOT NULL,
	`met` integer NOT NULL,
	`missed` integer NOT NULL,
	`not_assessable` integer NOT NULL,
	`held_from` integer NOT NULL,
	`held_until` integer NOT NULL,
	PRIMARY KEY(`loan_id`, `day`, `held_until`),
	FOREIGN KEY (`loan_id`) REFERENCES `loan`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE TABLE `stretch_held` (
	`stretch_id` text NOT NULL,
	`starts_at` integer NOT NULL,
	`ends_at` integer,
	`held_from` integer NOT NULL,
	`held_until` integer NOT NULL,
	PRIMARY KEY(`stretch_id`, `held_until`),
	FOREIGN KEY (`stretch_id`) REFERENCES `stretch`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
ALTER TABLE `finding` ADD `raised_at` integer;--> statement-breakpoint
ALTER TABLE `ledger_day` ADD `held_from` integer;