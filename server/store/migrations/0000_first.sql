CREATE TABLE `audit` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`at` integer NOT NULL,
	`actor` text NOT NULL,
	`action` text NOT NULL,
	`subject` text NOT NULL,
	`detail` text NOT NULL,
	`previous_hash` text NOT NULL,
	`hash` text NOT NULL
);
--> statement-breakpoint
CREATE INDEX `audit_subject` ON `audit` (`subject`,`id`);--> statement-breakpoint
CREATE TABLE `boot_anchor` (
	`unit_serial` text NOT NULL,
	`boot` integer NOT NULL,
	`booted_at` integer NOT NULL,
	`error_seconds` integer NOT NULL,
	`basis` text NOT NULL,
	PRIMARY KEY(`unit_serial`, `boot`)
);
--> statement-breakpoint
CREATE TABLE `borrower` (
	`id` text PRIMARY KEY NOT NULL,
	`name` text NOT NULL,
	`area` text NOT NULL,
	`address` text NOT NULL,
	`phone` text NOT NULL,
	`weight_kg` integer NOT NULL,
	`seat_width_mm` integer NOT NULL,
	`seat_depth_mm` integer NOT NULL,
	`clinician_id` text NOT NULL,
	`created_at` integer NOT NULL,
	FOREIGN KEY (`clinician_id`) REFERENCES `staff`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `borrower_clinician` ON `borrower` (`clinician_id`);--> statement-breakpoint
CREATE TABLE `certificate` (
	`serial` text PRIMARY KEY NOT NULL,
	`unit_serial` text NOT NULL,
	`loan_id` text NOT NULL,
	`key_thumbprint` text NOT NULL,
	`pem` text NOT NULL,
	`issued_at` integer NOT NULL,
	`expires_at` integer NOT NULL,
	`revoked_at` integer,
	`revoke_reason` text,
	FOREIGN KEY (`unit_serial`) REFERENCES `unit`(`serial`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`loan_id`) REFERENCES `loan`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `certificate_unit` ON `certificate` (`unit_serial`);--> statement-breakpoint
CREATE TABLE `finding` (
	`id` text PRIMARY KEY NOT NULL,
	`unit_serial` text NOT NULL,
	`kind` text NOT NULL,
	`place` text NOT NULL,
	`level` text NOT NULL,
	`probability_ppm` integer NOT NULL,
	`sentence` text NOT NULL,
	`mistaken_for` text NOT NULL,
	`settled_by` text NOT NULL,
	`since` integer NOT NULL,
	`last_seen_at` integer NOT NULL,
	`cleared_at` integer,
	`judgement` text,
	`judged_by` text,
	`judged_at` integer,
	FOREIGN KEY (`unit_serial`) REFERENCES `unit`(`serial`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`judged_by`) REFERENCES `staff`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `finding_unit` ON `finding` (`unit_serial`,`cleared_at`);--> statement-breakpoint
CREATE TABLE `invitation` (
	`token_hash` text PRIMARY KEY NOT NULL,
	`staff_id` text,
	`created_at` integer NOT NULL,
	`expires_at` integer NOT NULL,
	`used_at` integer,
	FOREIGN KEY (`staff_id`) REFERENCES `staff`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE TABLE `kept_aside` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`unit_serial` text NOT NULL,
	`topic` text NOT NULL,
	`received_at` integer NOT NULL,
	`clause` text NOT NULL,
	`reason` text NOT NULL,
	`digest` text NOT NULL,
	`times` integer NOT NULL,
	`payload` blob NOT NULL
);
--> statement-breakpoint
CREATE UNIQUE INDEX `kept_aside_once` ON `kept_aside` (`unit_serial`,`digest`);--> statement-breakpoint
CREATE TABLE `learned` (
	`id` text PRIMARY KEY NOT NULL,
	`stretch_id` text NOT NULL,
	`agrees` integer NOT NULL,
	`side` text,
	`text` text NOT NULL,
	`written_by` text NOT NULL,
	`written_at` integer NOT NULL,
	FOREIGN KEY (`stretch_id`) REFERENCES `stretch`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`written_by`) REFERENCES `staff`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `learned_stretch` ON `learned` (`stretch_id`);--> statement-breakpoint
CREATE TABLE `ledger_day` (
	`loan_id` text NOT NULL,
	`day` text NOT NULL,
	`starts_at` integer NOT NULL,
	`ends_at` integer NOT NULL,
	`runs` text NOT NULL,
	`due` text NOT NULL,
	`met` integer NOT NULL,
	`missed` integer NOT NULL,
	`not_assessable` integer NOT NULL,
	`reviewed_at` integer NOT NULL,
	PRIMARY KEY(`loan_id`, `day`),
	FOREIGN KEY (`loan_id`) REFERENCES `loan`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE TABLE `loan` (
	`id` text PRIMARY KEY NOT NULL,
	`reference` text NOT NULL,
	`unit_serial` text NOT NULL,
	`borrower_id` text NOT NULL,
	`opened_at` integer NOT NULL,
	`started_at` integer,
	`due_back_on` text,
	`ended_at` integer,
	`end_reason` text,
	`follows_loan_id` text,
	FOREIGN KEY (`unit_serial`) REFERENCES `unit`(`serial`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`borrower_id`) REFERENCES `borrower`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `loan_reference_unique` ON `loan` (`reference`);--> statement-breakpoint
CREATE INDEX `loan_unit` ON `loan` (`unit_serial`,`opened_at`);--> statement-breakpoint
CREATE INDEX `loan_borrower` ON `loan` (`borrower_id`,`opened_at`);--> statement-breakpoint
CREATE UNIQUE INDEX `loan_one_open_per_unit` ON `loan` (`unit_serial`) WHERE ended_at is null;--> statement-breakpoint
CREATE TABLE `loan_note` (
	`id` text PRIMARY KEY NOT NULL,
	`loan_id` text NOT NULL,
	`kind` text NOT NULL,
	`from_at` integer NOT NULL,
	`until_at` integer,
	`text` text NOT NULL,
	`written_by` text NOT NULL,
	`written_at` integer NOT NULL,
	FOREIGN KEY (`loan_id`) REFERENCES `loan`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`written_by`) REFERENCES `staff`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `loan_note_loan` ON `loan_note` (`loan_id`,`from_at`);--> statement-breakpoint
CREATE TABLE `lot` (
	`id` text PRIMARY KEY NOT NULL,
	`model_id` text NOT NULL,
	`received_at` integer NOT NULL,
	FOREIGN KEY (`model_id`) REFERENCES `model`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE TABLE `message` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`unit_serial` text NOT NULL,
	`boot` integer NOT NULL,
	`sequence` integer NOT NULL,
	`kind` text NOT NULL,
	`received_at` integer NOT NULL,
	`uptime_seconds` integer NOT NULL,
	`starts_at` integer,
	`ends_at` integer,
	`payload` blob NOT NULL
);
--> statement-breakpoint
CREATE UNIQUE INDEX `message_name` ON `message` (`unit_serial`,`boot`,`sequence`);--> statement-breakpoint
CREATE INDEX `message_time` ON `message` (`unit_serial`,`starts_at`);--> statement-breakpoint
CREATE TABLE `model` (
	`id` text PRIMARY KEY NOT NULL,
	`name` text NOT NULL,
	`size` text NOT NULL,
	`width_mm` integer NOT NULL,
	`depth_mm` integer NOT NULL,
	`weight_limit_kg` integer NOT NULL,
	`grid_rows` integer NOT NULL,
	`grid_columns` integer NOT NULL,
	`grid_pitch_mm` integer NOT NULL,
	`rated_capacity_mah` integer NOT NULL
);
--> statement-breakpoint
CREATE TABLE `pairing_code` (
	`id` text PRIMARY KEY NOT NULL,
	`loan_id` text NOT NULL,
	`unit_serial` text NOT NULL,
	`purpose` text NOT NULL,
	`issued_at` integer NOT NULL,
	`expires_at` integer NOT NULL,
	`issued_by` text NOT NULL,
	`typed_hash` text NOT NULL,
	`withdrawn_at` integer,
	`spent_at` integer,
	`spent_by_key` text,
	`certificate_serial` text,
	FOREIGN KEY (`loan_id`) REFERENCES `loan`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`unit_serial`) REFERENCES `unit`(`serial`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`issued_by`) REFERENCES `staff`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `pairing_code_typed_hash_unique` ON `pairing_code` (`typed_hash`);--> statement-breakpoint
CREATE INDEX `pairing_code_loan` ON `pairing_code` (`loan_id`,`issued_at`);--> statement-breakpoint
CREATE TABLE `recall` (
	`id` text PRIMARY KEY NOT NULL,
	`reference` text NOT NULL,
	`title` text NOT NULL,
	`advice` text NOT NULL,
	`criterion` text NOT NULL,
	`criterion_value` text NOT NULL,
	`opened_at` integer NOT NULL,
	`opened_by` text NOT NULL,
	`closed_at` integer,
	`closed_by` text,
	FOREIGN KEY (`opened_by`) REFERENCES `staff`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`closed_by`) REFERENCES `staff`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `recall_reference_unique` ON `recall` (`reference`);--> statement-breakpoint
CREATE TABLE `recall_unit` (
	`recall_id` text NOT NULL,
	`unit_serial` text NOT NULL,
	`outcome` text NOT NULL,
	`note` text NOT NULL,
	`signed_off_by` text,
	`changed_at` integer NOT NULL,
	PRIMARY KEY(`recall_id`, `unit_serial`),
	FOREIGN KEY (`recall_id`) REFERENCES `recall`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`unit_serial`) REFERENCES `unit`(`serial`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`signed_off_by`) REFERENCES `staff`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE TABLE `relief_plan` (
	`id` text PRIMARY KEY NOT NULL,
	`borrower_id` text NOT NULL,
	`version` integer NOT NULL,
	`valid_from` integer NOT NULL,
	`interval_minutes` integer NOT NULL,
	`hold_seconds` integer NOT NULL,
	`kinds` text NOT NULL,
	`set_by` text NOT NULL,
	FOREIGN KEY (`borrower_id`) REFERENCES `borrower`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`set_by`) REFERENCES `staff`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `relief_plan_version` ON `relief_plan` (`borrower_id`,`version`);--> statement-breakpoint
CREATE TABLE `review_mark` (
	`unit_serial` text PRIMARY KEY NOT NULL,
	`through_message` integer NOT NULL,
	`reviewed_at` integer NOT NULL
);
--> statement-breakpoint
CREATE TABLE `session` (
	`token_hash` text PRIMARY KEY NOT NULL,
	`staff_id` text NOT NULL,
	`csrf_token` text NOT NULL,
	`created_at` integer NOT NULL,
	`last_seen_at` integer NOT NULL,
	`expires_at` integer NOT NULL,
	FOREIGN KEY (`staff_id`) REFERENCES `staff`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE TABLE `setting` (
	`name` text PRIMARY KEY NOT NULL,
	`value` text NOT NULL,
	`changed_at` integer NOT NULL,
	`changed_by` text NOT NULL,
	FOREIGN KEY (`changed_by`) REFERENCES `staff`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE TABLE `staff` (
	`id` text PRIMARY KEY NOT NULL,
	`login` text NOT NULL,
	`name` text NOT NULL,
	`role` text NOT NULL,
	`password_hash` text,
	`created_at` integer NOT NULL,
	`disabled_at` integer
);
--> statement-breakpoint
CREATE UNIQUE INDEX `staff_login_unique` ON `staff` (`login`);--> statement-breakpoint
CREATE TABLE `stored_range` (
	`unit_serial` text NOT NULL,
	`boot` integer NOT NULL,
	`from_sequence` integer NOT NULL,
	`to_sequence` integer NOT NULL,
	PRIMARY KEY(`unit_serial`, `boot`, `from_sequence`)
);
--> statement-breakpoint
CREATE TABLE `stretch` (
	`id` text PRIMARY KEY NOT NULL,
	`loan_id` text NOT NULL,
	`kind` text NOT NULL,
	`starts_at` integer NOT NULL,
	`ends_at` integer,
	`first_seen_at` integer NOT NULL,
	`filled_at` integer,
	FOREIGN KEY (`loan_id`) REFERENCES `loan`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `stretch_loan` ON `stretch` (`loan_id`,`starts_at`);--> statement-breakpoint
CREATE TABLE `throttle` (
	`key` text PRIMARY KEY NOT NULL,
	`window_start` integer NOT NULL,
	`attempts` integer NOT NULL
);
--> statement-breakpoint
CREATE TABLE `unit` (
	`serial` text PRIMARY KEY NOT NULL,
	`model_id` text NOT NULL,
	`lot_id` text NOT NULL,
	`place` text NOT NULL,
	`place_since` integer NOT NULL,
	`firmware` text,
	`hardware` text,
	`last_heard_at` integer,
	FOREIGN KEY (`model_id`) REFERENCES `model`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`lot_id`) REFERENCES `lot`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `unit_place` ON `unit` (`place`);--> statement-breakpoint
CREATE INDEX `unit_lot` ON `unit` (`lot_id`);--> statement-breakpoint
CREATE TABLE `unit_assessment` (
	`unit_serial` text PRIMARY KEY NOT NULL,
	`assessed_at` integer NOT NULL,
	`level` text NOT NULL,
	`reason` text NOT NULL,
	`next_step` text NOT NULL,
	`since` integer,
	`visibility` text,
	FOREIGN KEY (`unit_serial`) REFERENCES `unit`(`serial`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE TABLE `verdict` (
	`id` text PRIMARY KEY NOT NULL,
	`stretch_id` text NOT NULL,
	`computed_at` integer NOT NULL,
	`superseded_at` integer,
	`outcome` text NOT NULL,
	`probability_ppm` integer NOT NULL,
	`verdict` text NOT NULL,
	FOREIGN KEY (`stretch_id`) REFERENCES `stretch`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `verdict_stretch` ON `verdict` (`stretch_id`,`computed_at`);--> statement-breakpoint
CREATE UNIQUE INDEX `verdict_one_current` ON `verdict` (`stretch_id`) WHERE superseded_at is null;--> statement-breakpoint
CREATE TABLE `visit` (
	`id` text PRIMARY KEY NOT NULL,
	`kind` text NOT NULL,
	`loan_id` text NOT NULL,
	`day` text NOT NULL,
	`done_by` text NOT NULL,
	`replacement_serial` text,
	`reason` text NOT NULL,
	`status` text NOT NULL,
	`created_at` integer NOT NULL,
	`closed_at` integer,
	FOREIGN KEY (`loan_id`) REFERENCES `loan`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`done_by`) REFERENCES `staff`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`replacement_serial`) REFERENCES `unit`(`serial`) ON UPDATE no action ON DELETE no action,
	CONSTRAINT "visit_swap_has_replacement" CHECK(kind <> 'swap' or replacement_serial is not null)
);
--> statement-breakpoint
CREATE INDEX `visit_day` ON `visit` (`day`,`status`);