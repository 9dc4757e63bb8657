package api

import (
	"github.com/labstack/echo/v4"

	"pullbook/openapi"
)

// The contract has an operation for each feed, because each has columns of its
// own; what is asked is read by feedQueryOf.

func (s *Server) GetYardsFeed(ctx echo.Context, _ openapi.GetYardsFeedParamsFormat, _ openapi.GetYardsFeedParams) error {
	return s.feed(ctx, yardsFeed.title())
}

func (s *Server) GetPullsFeed(ctx echo.Context, _ openapi.GetPullsFeedParamsFormat, _ openapi.GetPullsFeedParams) error {
	return s.feed(ctx, pullsFeed.title())
}

func (s *Server) GetRunsFeed(ctx echo.Context, _ openapi.GetRunsFeedParamsFormat, _ openapi.GetRunsFeedParams) error {
	return s.feed(ctx, runsFeed.title())
}

func (s *Server) GetReadingsFeed(ctx echo.Context, _ openapi.GetReadingsFeedParamsFormat, _ openapi.GetReadingsFeedParams) error {
	return s.feed(ctx, readingsFeed.title())
}

func (s *Server) GetMovementsFeed(ctx echo.Context, _ openapi.GetMovementsFeedParamsFormat, _ openapi.GetMovementsFeedParams) error {
	return s.feed(ctx, movementsFeed.title())
}

func (s *Server) GetTanksFeed(ctx echo.Context, _ openapi.GetTanksFeedParamsFormat, _ openapi.GetTanksFeedParams) error {
	return s.feed(ctx, tanksFeed.title())
}

func (s *Server) GetLotsFeed(ctx echo.Context, _ openapi.GetLotsFeedParamsFormat, _ openapi.GetLotsFeedParams) error {
	return s.feed(ctx, lotsFeed.title())
}

func (s *Server) GetContainersFeed(ctx echo.Context, _ openapi.GetContainersFeedParamsFormat, _ openapi.GetContainersFeedParams) error {
	return s.feed(ctx, containersFeed.title())
}

func (s *Server) GetVerdictsFeed(ctx echo.Context, _ openapi.GetVerdictsFeedParamsFormat, _ openapi.GetVerdictsFeedParams) error {
	return s.feed(ctx, verdictsFeed.title())
}

func (s *Server) GetFindingsFeed(ctx echo.Context, _ openapi.GetFindingsFeedParamsFormat, _ openapi.GetFindingsFeedParams) error {
	return s.feed(ctx, findingsFeed.title())
}

func (s *Server) GetTemperaturesFeed(ctx echo.Context, _ openapi.GetTemperaturesFeedParamsFormat, _ openapi.GetTemperaturesFeedParams) error {
	return s.feed(ctx, temperaturesFeed.title())
}

func (s *Server) GetJournalFeed(ctx echo.Context, _ openapi.GetJournalFeedParamsFormat, _ openapi.GetJournalFeedParams) error {
	return s.feed(ctx, journalFeed.title())
}
