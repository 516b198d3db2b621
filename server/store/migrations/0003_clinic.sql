CREATE TABLE `identity_question` (
	`id` text PRIMARY KEY NOT NULL,
	`kind` text NOT NULL,
	`loan_id` text NOT NULL,
	`other_loan_id` text,
	`starts_at` integer NOT NULL,
	`ends_at` integer,
	`found_at` integer NOT NULL,
	`probability_ppm` integer NOT NULL,
	`evidence` text NOT NULL,
	`answer` text,
	`reason` text,
	`answered_by` text,
	`answered_at` integer,
	FOREIGN KEY (`loan_id`) REFERENCES `loan`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`other_loan_id`) REFERENCES `loan`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`answered_by`) REFERENCES `staff`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `identity_question_loan` ON `identity_question` (`loan_id`,`starts_at`);--> statement-breakpoint
CREATE TABLE `reattribution` (
	`id` text PRIMARY KEY NOT NULL,
	`question_id` text NOT NULL,
	`unit_serial` text NOT NULL,
	`from_loan_id` text NOT NULL,
	`to_loan_id` text,
	`starts_at` integer NOT NULL,
	`ends_at` integer NOT NULL,
	`done_by` text NOT NULL,
	`done_at` integer NOT NULL,
	`undone_by` text,
	`undone_at` integer,
	FOREIGN KEY (`question_id`) REFERENCES `identity_question`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`unit_serial`) REFERENCES `unit`(`serial`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`from_loan_id`) REFERENCES `loan`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`to_loan_id`) REFERENCES `loan`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`done_by`) REFERENCES `staff`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`undone_by`) REFERENCES `staff`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `reattribution_from` ON `reattribution` (`from_loan_id`);--> statement-breakpoint
CREATE INDEX `reattribution_to` ON `reattribution` (`to_loan_id`);--> statement-breakpoint
CREATE INDEX `reattribution_unit` ON `reattribution` (`unit_serial`);--> statement-breakpoint
CREATE TABLE `incident` (
	`id` text PRIMARY KEY NOT NULL,
	`starts_at` integer NOT NULL,
	`ends_at` integer,
	`found_at` integer NOT NULL,
	`scope` text NOT NULL,
	`scope_name` text NOT NULL,
	`expected` integer NOT NULL
);
--> statement-breakpoint
CREATE INDEX `incident_ends` ON `incident` (`ends_at`);--> statement-breakpoint
CREATE INDEX `incident_starts` ON `incident` (`starts_at`);--> statement-breakpoint
CREATE TABLE `incident_unit` (
	`incident_id` text NOT NULL,
	`loan_id` text NOT NULL,
	`unit_serial` text NOT NULL,
	`silent_from` integer NOT NULL,
	`back_at` integer,
	PRIMARY KEY(`incident_id`, `loan_id`),
	FOREIGN KEY (`incident_id`) REFERENCES `incident`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`loan_id`) REFERENCES `loan`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`unit_serial`) REFERENCES `unit`(`serial`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `incident_unit_loan` ON `incident_unit` (`loan_id`);--> statement-breakpoint
CREATE TABLE `stretch_outcome` (
	`id` text PRIMARY KEY NOT NULL,
	`stretch_id` text NOT NULL,
	`source` text NOT NULL,
	`side` text NOT NULL,
	`cause` text,
	`held` text,
	`prior_table` text NOT NULL,
	`clues` text NOT NULL,
	`recorded_by` text NOT NULL,
	`recorded_at` integer NOT NULL,
	FOREIGN KEY (`stretch_id`) REFERENCES `stretch`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`recorded_by`) REFERENCES `staff`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `stretch_outcome_stretch` ON `stretch_outcome` (`stretch_id`,`recorded_at`);--> statement-breakpoint
CREATE TABLE `test_request` (
	`id` text PRIMARY KEY NOT NULL,
	`stretch_id` text NOT NULL,
	`test` text NOT NULL,
	`desk` text NOT NULL,
	`asked_by` text NOT NULL,
	`asked_at` integer NOT NULL,
	`result` text,
	`done_by` text,
	`done_at` integer,
	`called_off_at` integer,
	FOREIGN KEY (`stretch_id`) REFERENCES `stretch`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`asked_by`) REFERENCES `staff`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`done_by`) REFERENCES `staff`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `test_request_stretch` ON `test_request` (`stretch_id`);--> statement-breakpoint
CREATE INDEX `test_request_desk` ON `test_request` (`desk`,`done_at`);--> statement-breakpoint
CREATE UNIQUE INDEX `test_request_open` ON `test_request` (`stretch_id`,`test`) WHERE done_at is null and called_off_at is null;