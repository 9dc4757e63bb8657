package api

import "github.com/labstack/echo/v4"

// routePage serves what people look at.
func (s *Server) routePage(e *echo.Echo) {}
